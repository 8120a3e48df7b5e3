"""Every document beside the report, and the register of all of them with whom each is for; the mail.

In: an Assessment.  Out: a view each.  Works out no value.
"""
