"""Telling."""
