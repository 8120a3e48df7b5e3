"""The site floor."""
