"""Readings that lie: slips, exchanged rows, wrong units and instruments.

In: tables and the bands of their limits.  Out: doubts, with the readings that wait.  Judges nothing.
"""
