"""Words become typed findings, findings become checked exams. Pure: no input, no output, no clock.

In: the text of a phrase. Out: a ``Reading`` with findings or a command, and for an ``Exam`` its
flags. Nothing here opens a file but the package's own grammar and tables, and nothing here knows
of sound, screens or storage.
"""
