"""Many visits of a practice as one table, and what it says with its uncertainty.

In: journals, folded once each; what was gathered is kept, so that a visit is folded again only
after its journal has grown. Out: shares with intervals, never a judgement on a farm, a bull or a
person.
"""
