"""Tightening."""
