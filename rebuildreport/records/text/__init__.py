"""One YAML file as a person typed it: read, validated, every slip with its place and remedy.

In: bytes.  Out: typed scalars, marks, problems.  Knows no engine and no other file.
"""
