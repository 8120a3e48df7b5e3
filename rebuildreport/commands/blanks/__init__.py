"""Files to begin with: the blanks that ``start`` fills in, and an engine's sheet as it was described."""
