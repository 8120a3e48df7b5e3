"""Build."""
