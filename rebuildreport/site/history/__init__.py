"""The site's own pages: lists, engine families, the feed, the shop's texts, what was found of private values.

In: what the manifest keeps of each job.  Out: files of an edition, each rewritten where what it is made from
changed.  No job is loaded here.
"""
