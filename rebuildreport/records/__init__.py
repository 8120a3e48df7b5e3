"""Records: what the files say, read with line numbers and validated."""
