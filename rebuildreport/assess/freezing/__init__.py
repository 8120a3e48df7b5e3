"""Freezing."""
