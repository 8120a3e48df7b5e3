"""The measurement record: every reading once, with what was worked out of it, in the manner of a certificate.

In: an Assessment.  Out: a view with every text finished.  Works out no value and knows no other document.
"""
