"""What must come off before what: an order of everything, and the cheapest way to what is wanted.

Comes in: names, ways, costs.  Goes out: orders and plans.  Knows no file, no engine and no words for people.
"""
