"""Which part or size: each question with its answer, what else there was, what follows.

In: the workbench of what stands.  Out: choices.  Decides nothing: that is a person's.
"""
