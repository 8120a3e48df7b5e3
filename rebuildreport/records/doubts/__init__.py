"""Doubts."""
