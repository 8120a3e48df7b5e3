"""Which parts are needed, because of what.

In: verdicts, findings, decisions.  Out: needs.  Knows no sum of money.
"""
