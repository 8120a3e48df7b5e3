"""What is worked out of an engine's parts: bearings, cylinders, crank, valves, drives; damage, cautions.

In: measured values.  Out: measured values of clearances, ratios, wear.  Knows no sheet and no limit.
"""
