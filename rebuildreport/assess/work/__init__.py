"""What was decided and what goes to machine shops.

In: decisions and values.  Out: orders, deviations.  Knows no document.
"""
