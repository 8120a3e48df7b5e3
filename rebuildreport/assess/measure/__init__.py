"""From readings to verdicts: what stands when, which limit decides, what does not fit together.

A table is read (``observations``), held against what ended it (``timeline``, by the changes of ``state``),
worked out (``workings``, ``walls``), judged (``valuing``, ``judging``, ``references``) and marked
(``standing``, ``lapses``); what does not fit together is asked (``oddities``, ``untimely``).

In: records.  Out: characteristics.  Knows no price, no choice and no document.
"""
