"""What a reading is worth and what it says of a limit: uncertainty, form, fitted shapes, verdicts.

In: numbers and instruments.  Out: values with their doubt, and verdicts.  Knows no part of an engine.
"""
