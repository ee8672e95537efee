"""Recordings and files of typed phrases, the same way as the microphone.

A recording is known by the digest of its bytes: running it again goes on behind the last utterance
that was heard of it, and never hears one twice.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from dictation.audio.reading import Heed, ignore
from dictation.audio.recording import open_recording, utterances
from dictation.errors import BadInputError
from dictation.live.events import Event
from dictation.live.session import Session

DIGEST_BLOCK = 1 << 20
"""Bytes read at a time for the digest."""

SAME_PLACE_S = 1e-3
"""Utterances that begin this much before the end of the last one heard were heard before."""

Tell = Callable[[str], None]
"""Takes a sentence for the user."""

Progress = Callable[[float, float | None], None]
"""Takes the seconds heard so far, and the length of the recording where it is known."""


def untold(sentence: str) -> None:
    """Tell nobody."""


def unshown(done_s: float, length_s: float | None) -> None:
    """Show no progress."""


@dataclass(frozen=True, slots=True)
class Telling:
    """Who is told what while a recording is heard."""

    tell: Tell = untold
    heed: Heed = ignore
    progress: Progress = unshown


def replay(
    session: Session, path: Path, started_at: str | None = None, telling: Telling | None = None
) -> Iterator[Event]:
    """Hear a recording, or take a .txt file of phrases, one a line."""
    telling = telling or Telling()
    if path.suffix.lower() == ".txt":
        yield from _typed(session, path, started_at, telling)
    else:
        yield from _heard(session, path, started_at, telling)


def digest_of(path: Path) -> str:
    """SHA-256 of a file, read in pieces. Raises BadInputError where it cannot be read."""
    digest = hashlib.sha256()
    try:
        with path.open("rb") as file:
            while block := file.read(DIGEST_BLOCK):
                digest.update(block)
    except OSError as error:
        raise BadInputError(f"{path} cannot be read: {error.strerror}.") from error
    return digest.hexdigest()


def phrases_of(path: Path) -> list[tuple[int, str]]:
    """Phrases of a text file with their lines; blank lines are left out. Raises BadInputError."""
    try:
        content = path.read_bytes()
    except FileNotFoundError as error:
        raise BadInputError(f"{path} is not there: check the name of the file.") from error
    except OSError as error:
        raise BadInputError(f"{path} cannot be read: {error.strerror}.") from error
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise BadInputError(
            f"{path}, line {line}: not UTF-8 text; give one phrase a line, saved as UTF-8."
        ) from error
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        raise BadInputError(f"{path}, line {line}: not text; give one phrase a line.")
    lines = enumerate(text.splitlines(), start=1)
    phrases = [(number, line.strip()) for number, line in lines if line.strip()]
    if not phrases:
        raise BadInputError(f"{path} holds no phrase: give one phrase a line.")
    return phrases


def _tell_of_namesake(session: Session, path: Path, digest: str, tell: Tell) -> None:
    names = {r.name for r in session.visit.recordings if r.digest != digest}
    known = {r.digest for r in session.visit.recordings}
    if path.name in names and digest not in known:
        tell(f"Another {path.name} was heard in this visit; this one differs and is heard as well.")


def _typed(
    session: Session, path: Path, started_at: str | None, telling: Telling
) -> Iterator[Event]:
    phrases = phrases_of(path)
    digest = digest_of(path)
    _tell_of_namesake(session, path, digest, telling.tell)
    known = session.open_recording(digest, path.name, started_at)
    if known.finished:
        telling.tell(f"{path} was taken before; nothing of it is taken twice.")
        return
    if known.lines_read:
        telling.tell(f"{path} was taken up to line {known.lines_read}; it goes on from there.")
    for line, phrase in phrases:
        if line > known.lines_read:
            yield from session.type(phrase, digest, line)
    session.finish_recording(digest, session.visit.audio_until_s)


def _heard(
    session: Session, path: Path, started_at: str | None, telling: Telling
) -> Iterator[Event]:
    recording = open_recording(path)
    digest = digest_of(path)
    _tell_of_namesake(session, path, digest, telling.tell)
    known = session.open_recording(digest, path.name, started_at)
    if known.finished:
        telling.tell(f"{path} was heard before; nothing of it is heard twice.")
        return
    heard_before_s = known.heard_until_s - known.offset_s
    if heard_before_s > 0:
        telling.tell(f"{path} was heard up to {heard_before_s:.1f} s; it goes on from there.")
    spoken = 0
    until_s = 0.0
    for utterance in utterances(recording, heed=telling.heed):
        spoken += 1
        until_s = utterance.until_s
        telling.progress(until_s, recording.duration_s)
        placed = replace(
            utterance,
            at_s=utterance.at_s + known.offset_s,
            until_s=utterance.until_s + known.offset_s,
        )
        if placed.at_s >= known.heard_until_s - SAME_PLACE_S:
            yield from session.hear(placed, digest)
    if not spoken:
        telling.tell(f"No speech was found in {path}.")
    length_s = max(recording.duration_s or 0.0, until_s)
    session.finish_recording(digest, known.offset_s + length_s)
