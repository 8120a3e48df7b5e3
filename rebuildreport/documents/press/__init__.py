"""What every document needs: language, words, templates, photos, PDF.

Knows no document and no drawing.
"""
