"""How long parts live: from what each engine told at a known age to a curve and its bounds.

In come lifetimes (a part was still good at this age, had failed by that one); out go survivors over age,
numbers at risk, and a Weibull life with likelihood bounds.  Knows nothing of jobs, files or words.
"""
