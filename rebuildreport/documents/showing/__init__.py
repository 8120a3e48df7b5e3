"""Index, engine pages and the specimen; the list of all messages.

In: entries of jobs.  Out: pages.
"""
