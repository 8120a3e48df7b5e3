"""Money in exact decimals: sums, taxes, currencies, what was approved.

In: amounts.  Out: amounts.  Knows no part and no job.
"""
