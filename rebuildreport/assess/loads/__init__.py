"""What bearings bear while the engine runs, and how thin their oil gets, from what sheet and job know.

In: the sheet's ``motion:``, weighed masses, clearances as found and as they are.  Out: EngineLoads, worked
out only where a document asks for them.  Advisory: decides no verdict.
"""
