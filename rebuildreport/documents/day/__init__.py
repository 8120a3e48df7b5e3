"""The shop's day as a page, in a calendar, on the terminal, and what is on order as a table and as mails.

In: a ``Day``.  Out: text and bytes.  Works out nothing.
"""
