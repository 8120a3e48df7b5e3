"""Bolts: threads, stages, preload with its scatter, the order of a joint, what letting go told.

In: sizes, classes, torques and angles.  Out: forces, stretches, sequences.  Knows no group of a sheet.
"""
