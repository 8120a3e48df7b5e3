"""How it came apart and goes together: register, pages, bolts, what is done and what is open.

In: teardown and assembly records.  Out: the bench.  Orders nothing.
"""
