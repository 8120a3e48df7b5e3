"""The report: page one, findings, measurements, choices, cost, annex.

In: an Assessment.  Out: a view with every text finished.  Works out no value.
"""
