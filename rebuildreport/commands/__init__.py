"""The commands floor."""
