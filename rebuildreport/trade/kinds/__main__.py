"""Prints the written-out register, the README.md beside this module."""

from __future__ import annotations

from .reference import reference

if __name__ == "__main__":
    print(reference(), end="")
