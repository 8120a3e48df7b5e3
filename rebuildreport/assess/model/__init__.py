"""The Assessment and its parts as plain data.

Holds no rule and no file; whoever reads it needs nothing else.
"""
