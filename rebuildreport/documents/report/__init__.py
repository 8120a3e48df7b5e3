"""The report: page one, findings, what was decided, cost, what comes next; what sheets print in the same way.

In: an Assessment with its photos.  Out: a view with every text finished, its HTML and PDF.  Works out no
value and knows no other document.
"""
