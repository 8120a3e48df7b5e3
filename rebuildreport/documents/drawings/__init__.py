"""Drawings as data: strips, scales, contours, plans, where readings go.

In: values and limits.  Out: paths and labels.  Knows no document.
"""
