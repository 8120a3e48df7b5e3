"""Exact choices: which shell, step, shim, ring set or mass goes where.

In: what fits where at what distance, what there is of it.  Out: the best plan, or that there is none.
Knows no price list, no file, no decision.
"""
