"""A second copy of a visit, on a stick: whole after each animal, so that it can go on from there.

Sound comes first and the journal last, in one step, so the copy never names a sound it has not got.
A thread of its own writes it: a slow stick makes nobody wait.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from dictation.disk import put_in_place
from dictation.errors import HornsweepError, MissingError, WrongUseError
from dictation.intake.upgrade import copy_journal
from dictation.visit.journal import AUDIO_FOLDER, JOURNAL_NAME, Journal, holds_visit

AGAIN = "it is tried again after the next animal"


class SecondCopy:
    """Keeps ``copy`` a copy of the visit in ``folder``. Use ``kept``."""

    def __init__(self, folder: Path, copy: Path) -> None:
        self._folder = folder
        self._copy = copy
        self._wanted = threading.Event()
        self._ended = False
        self._failed: MissingError | None = None
        self._thread = threading.Thread(target=self._work, name="second copy", daemon=True)

    def start(self) -> None:
        """Copy what is there, and stand ready.

        Raises WrongUseError where the copy is another visit's or has gone on by itself,
        MissingError where it cannot be written.
        """
        if self._copy.resolve() == self._folder.resolve():
            raise WrongUseError("--copy is the visit's own folder: name one on another disk.")
        if not self._copy.parent.is_dir():
            raise MissingError(f"{self._copy.parent} is not there: put the stick in, then begin.")
        self._stop_at_another()
        self.bring_up()
        self._thread.start()

    def after_animal(self) -> None:
        """An animal was closed: the copy is brought up meanwhile. Raises what failed last time."""
        failed, self._failed = self._failed, None
        self._wanted.set()
        if failed is not None:
            raise failed

    def end(self) -> None:
        """The last of it. Raises MissingError."""
        self._ended = True
        self._wanted.set()
        self._thread.join()
        self.bring_up()

    def bring_up(self) -> None:
        """Make the copy what the visit is now. Raises MissingError."""
        try:
            self._copy.mkdir(mode=0o700, exist_ok=True)
            for path in sorted((self._folder / AUDIO_FOLDER).rglob("*")):
                if path.suffix in {".flac", ".s16"}:
                    self._bring(path)
            for name in self._folder.glob("*.csv"):
                put_in_place(self._copy / name.name, name.read_bytes())
            copy_journal(self._folder / JOURNAL_NAME, self._copy / JOURNAL_NAME)
        except OSError as error:
            raise MissingError(
                f"The second copy in {self._copy} cannot be written"
                f" ({error.strerror}): look at the stick; {AGAIN}."
            ) from error

    def _bring(self, path: Path) -> None:
        there = self._copy / path.relative_to(self._folder)
        try:
            size = path.stat().st_size
            if there.exists() and there.stat().st_size == size:
                return
            content = path.read_bytes()
        except FileNotFoundError:
            return  # a piece of the stream that has just been compressed, and comes as such
        there.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        put_in_place(there, content)
        if path.suffix == ".flac":
            there.with_suffix(".s16").unlink(missing_ok=True)

    def _stop_at_another(self) -> None:
        if not holds_visit(self._copy):
            return
        with Journal.amend(self._copy) as copy, Journal.read(self._folder) as own:
            there, here = ([row for row, _ in each.rows()] for each in (copy, own))
        if there != here[: len(there)]:
            raise WrongUseError(
                f"{self._copy} holds another visit, or one that was gone on with there: give that"
                " folder with --out to go on with it, or another one with --copy."
            )

    def _work(self) -> None:
        while not self._ended:
            self._wanted.wait()
            self._wanted.clear()
            if self._ended:
                return
            try:
                self.bring_up()
            except HornsweepError as error:
                self._failed = MissingError(str(error))


@contextmanager
def kept(folder: Path, copy: Path | None) -> Iterator[SecondCopy | None]:
    """While this holds, ``copy`` is kept; at the end it is brought up once more."""
    if copy is None:
        yield None
        return
    second = SecondCopy(folder, copy)
    second.start()
    try:
        yield second
    except BaseException:
        with suppress(HornsweepError):  # what went wrong first is told
            second.end()
        raise
    second.end()
