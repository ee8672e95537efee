"""Exams as events of the open Animal Data Exchange standard (ICAR ADE, schemas of version 1.3.2).

In: the exams of a visit, and who sends them. Out: three collections (pregnancy checks, observed
statuses, diagnoses) and a list of what has no home in them. What the standard has no field for goes
into ``remark`` in words and into the one extra property ``ultrasoundExam`` as data, never into a
field that means something else. No null is ever written, and every time is UTC.
"""
