"""The trade floor: the engineering, as a library of its own for whoever has a notebook.

In: measured values, sizes, limits, sums.  Out: what follows from them, with its doubt, as small frozen
classes.  It must not know a file, a job, a template or a day.
"""
