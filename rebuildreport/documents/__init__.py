"""Documents: an Assessment as a report, a page of the site, a drawing, a PDF.

Everything that is worked out (rounding, units, dates, sentences, coordinates)
is worked out here; the templates choose and place.
"""
