"""What all commands share: the list of them, their common options, lines on a terminal that may be closed."""
