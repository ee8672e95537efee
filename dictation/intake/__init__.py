"""A visit that comes in whole, from files that were written elsewhere.

In: exams read out of CSV, with their open questions. Out: a journal of its own in a new folder,
decided like any other input; all of it, or nothing.
"""
