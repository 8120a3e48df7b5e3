"""A document that comes back: whether its numbers are what they should be.

In: a PDF from anywhere.  Out: one line, right or what differs and why.  Knows no shop and no job folder.
"""
