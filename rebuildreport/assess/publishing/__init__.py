"""An Assessment for others: results.json and the public side.

In: an Assessment.  Out: its published forms.  Works out nothing.
"""
