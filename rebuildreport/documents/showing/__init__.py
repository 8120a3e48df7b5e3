"""Showing."""
