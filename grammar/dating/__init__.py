"""Dates of a pregnancy: service, calving, drying off, the next looks.

In: an exam date, services, an age with its error. Out: ISO dates with their spread and source.
Day of service is day 0. There is no clock here: the exam carries its date.
"""
