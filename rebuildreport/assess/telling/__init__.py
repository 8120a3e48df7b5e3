"""What is said of a job where nobody has written it: facts, questions, next steps.

In: all that was worked out.  Out: messages.  Works out no value.
"""
