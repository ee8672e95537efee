"""What goes in and out as files: herd lists in; CSV of exams and findings out.

In: a herd list; the exams and flags of a visit. Out: the animals that a herd list names;
``exams.csv`` and ``findings.csv``, always whole. Nothing here knows of sound or of the journal.
"""
