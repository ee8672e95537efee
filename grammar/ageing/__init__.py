"""Ages of a pregnancy: from measurements, from structures seen, and as stated.

In: findings of one exam. Out: days with their error and source, or the reason why there is none.
Nothing here knows the calendar; dates are the business of ``grammar.dating``.
"""

from grammar.ageing.estimate import AgeEstimate, AgeFrom, NoAge
from grammar.ageing.measured import MeasuredAge, age_from_measurement, cross_checks, measured_age
from grammar.ageing.stated import stated_age

__all__ = [
    "AgeEstimate",
    "AgeFrom",
    "MeasuredAge",
    "NoAge",
    "age_from_measurement",
    "cross_checks",
    "measured_age",
    "stated_age",
]
