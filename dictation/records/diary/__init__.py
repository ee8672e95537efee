"""The days ahead of each animal as an iCalendar file (RFC 5545).

In: the exams of a visit. Out: one all-day event a purpose and animal. An event keeps its identifier
for ever and its sequence number grows with the journal, so that a second import updates it and adds
none; what no longer holds is sent once more as cancelled.
"""
