"""Files held against each other: the sheet, the shop, the job, days, money, pictures.

In: records.  Out: problems.  Changes no value and takes no reading out.
"""
