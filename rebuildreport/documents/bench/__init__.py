"""The bench on a screen: the round's file, and a page to type it on that needs no network.

In: what is due of an Assessment.  Out: a view, a text of YAML.  Works out no value, asks by no threshold
of its own.
"""
