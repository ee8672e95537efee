"""Ages of a pregnancy: from measurements, from structures seen, and as stated.

In: findings of one exam. Out: days with their error and source, or the reason why there is none.
Nothing here knows the calendar; dates are the business of ``grammar.dating``.
"""
