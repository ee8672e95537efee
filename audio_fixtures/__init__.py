"""Recordings of invented visits, with what is said in them and what they come to.

``demo_visit.flac`` and the files beside it are installed with the package, for ``hornsweep demo``.
``python -m tests.bench.make_recordings`` makes them again.
"""
