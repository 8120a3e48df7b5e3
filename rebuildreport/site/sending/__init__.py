"""What leaves the shop: a document frozen as issued, its mail, and the sending of it.

Nothing here knows of the site's pages.
"""
