"""What an issued document rests on, and what changed since.

In: an Assessment.  Out: frozen facts and their differences.  Knows no document.
"""
