"""Money."""
