"""The trade floor."""
