"""Measures: what is heard right, how fast, in how much memory.

In: the grammar's own phrases, spoken by synthetic voices in made-up shed noise. Out: tables for a
person, and figures that the tests compare. ``python -m tests.bench NAME`` runs one.

Everything is drawn from seeds and divided into a part to tune on and a part that is only ever
measured, by voice, by phrase and by noise; see ``voices``, ``phrases`` and ``conditions``.
"""
