from collections.abc import Iterable
from datetime import date
from decimal import Decimal

class Text:
    def __bool__(self) -> bool: ...

Value = Text | str | int | float | date | Decimal

class Typed(Text):
    text: str
    def __init__(self, text: str) -> None: ...

class Figure(Text):
    text: str
    def __init__(self, text: object) -> None: ...

class Amount(Figure):
    amount: Decimal
    digits: int
    code: str
    def __init__(self, amount: Decimal, digits: int, code: str = "") -> None: ...

class Sentence(Text):
    pattern: str
    values: dict[str, Value]
    def __init__(self, pattern: str, /, **values: Value) -> None: ...

class Several(Text):
    items: tuple[Text | str, ...]
    between: str
    last: str
    def __init__(self, items: Iterable[Text | str], between: str = ", ", last: str = "") -> None: ...

NOTHING: Text

def present(items: Iterable[Text], between: str = "; ") -> Text: ...
def amid(text: Text) -> Text: ...
def as_typed(name: str) -> Text: ...
def english(text: Text | str) -> str: ...
