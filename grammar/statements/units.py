"""Units of time and length in which values are spoken."""

from __future__ import annotations

DAYS_IN_WEEK = 7
# A month of gestation is taken as 30 days, as in the size bands of Njaa (ed.) 2012, Kirkbride's
# Diagnosis of Abortion and Neonatal Loss in Animals, 4th ed., Table A.1.
DAYS_IN_MONTH = 30
DAYS_IN_FORTNIGHT = 14
MM_IN_CM = 10
