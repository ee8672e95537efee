"""Electronic tags: lines of a reader, typed or from a serial port, become ISO 11784 numbers.

In: a line, a port. Out: fifteen digits, or a sentence why not. Knows of no visit and no words.
"""
