"""What each job waits for, since when, what is next and what is overdue: codes, names and days.

In: an Assessment with its job's records.  Out: a ``Waiting`` a job, a ``Day`` of all.  Knows no words.
"""
