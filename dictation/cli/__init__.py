"""The command line: parses arguments and calls the rooms. One file a command.

A mistake of the user or a lack of the machine ends in one sentence on standard error and the exit
code of its kind; a mistake of ours ends in one sentence that names where its details were written.
"""

from __future__ import annotations

from dictation.cli.app import main

__all__ = ["main"]
