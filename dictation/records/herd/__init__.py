"""Herd lists as farms have them: CSV of any kind, XLSX, or the open standard's JSON.

In: a file. Out: the animals it names, or every mistake in it by line and column; nothing half. How
a list's columns, dates and letters are to be read is recognised, shown to a person once, and kept
in ``herd-list.toml`` beside the list, one a farm's folder.
"""
