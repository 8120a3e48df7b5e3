"""What an engine's parts bear while it runs: crank loads, oil films, balance.

In come sizes, masses, an order of firing and a speed; out go forces, films and what is out of balance, as
numbers and arrays over the cycle.  Advisory by nature, with the model's assumptions in each docstring.
Knows nothing of files, jobs or words.
"""
