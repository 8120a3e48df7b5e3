"""What it costs, what was approved, what is bought, what each stay comes to.

In: needs, work, rates.  Out: the cost.  Knows no verdict.
"""
