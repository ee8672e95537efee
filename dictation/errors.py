"""Errors that reach the user: one sentence of what, where and what to do, and an exit code."""

from __future__ import annotations

from pathlib import Path


class HornsweepError(Exception):
    """Base of the errors a user can meet; ``str()`` is the sentence. Exit code 5: internal."""

    exit_code = 5


class WrongUseError(HornsweepError):
    """The command was asked for something it cannot do. Exit code 2."""

    exit_code = 2


class NothingWrittenError(HornsweepError):
    """There is nothing in the visit that could be written; no file was. Exit code 1."""

    exit_code = 1


class BadInputError(HornsweepError):
    """A file could not be used. Exit code 3."""

    exit_code = 3


class MissingError(HornsweepError):
    """Something is missing on this machine: a model, a microphone, disk space. Exit code 4."""

    exit_code = 4


class StoppedError(HornsweepError):
    """A person or a signal stopped the command; what was taken is kept. Exit code 130."""

    exit_code = 130


def cannot_write(folder: Path, why: object) -> MissingError:
    """A folder cannot be written; another one can be given."""
    return MissingError(
        f"{folder} cannot be written ({why}): make room there, see who may write it, and run the"
        " same command again; or copy what is there elsewhere and give that folder."
    )
