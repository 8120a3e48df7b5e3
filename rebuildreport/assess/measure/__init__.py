"""From readings to verdicts: what stands when, which limit decides, what does not fit together.

In: records.  Out: characteristics.  Knows no price, no choice and no document.
"""
