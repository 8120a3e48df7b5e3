"""The further documents: estimate, orders, bench, build and teardown sheets, mail.

In: an Assessment.  Out: a view each.  Works out no value.
"""
