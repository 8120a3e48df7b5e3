"""The record of each kind of file, and of a whole folder.

In: validated text.  Out: frozen records.  Holds no file against another.
"""
