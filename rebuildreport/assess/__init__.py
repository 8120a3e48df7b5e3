"""The assess floor."""
