"""Visits that come from files: read to be looked at, taken in from CSV, or brought up from journals
of earlier versions.

In: a folder. Out: a visit with its flags, or a journal of facts. Nothing here listens or draws.
"""
