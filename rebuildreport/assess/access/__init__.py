"""What must come off for what a job wants off: the plan, its hours, and what they are held against.

Comes in: sheet, job, rate.  Goes out: an ``AccessPlan``.  Knows no reading and no estimate.
"""
