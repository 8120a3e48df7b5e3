from .sentence import Figure, Text

class Measure(Figure):
    value: float
    unit: str
    decimals: int
    def __init__(self, value: float, unit: str, decimals: int) -> None: ...

def as_printed(text: Text, system: str) -> Text: ...
