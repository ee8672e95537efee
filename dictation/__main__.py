"""``python -m dictation`` is the command ``hornsweep``."""

from dictation.cli import main

main()
