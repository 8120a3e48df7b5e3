"""The documents floor."""
