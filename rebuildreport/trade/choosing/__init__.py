"""Choosing."""
