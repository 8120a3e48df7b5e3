"""Publishing."""
