"""Engine rebuild jobs from plain measurement files to a report people can trust.

The floors, from the ground up: ``quantities``, ``trade``, ``records``,
``assess``, ``documents``, ``site``, ``commands``.  Each imports only from
the floors below it.
"""

__version__ = "0.2.3"
