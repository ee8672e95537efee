"""Recordings and files of typed phrases, the same way as the microphone.

A recording is known by the digest of its bytes: running it again goes on behind the last utterance
that was heard of it, and never hears one twice.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from dictation.audio.reading import Heed, ignore
from dictation.audio.recording import Recording, open_recording, utterances
from dictation.errors import BadInputError
from dictation.gate import content_of
from dictation.live.events import Event
from dictation.live.joining import Joiner
from dictation.live.session import Session, Tell
from dictation.visit.facts import RecordingFinished, RecordingOpened
from dictation.visit.inputs import Noted
from dictation.visit.state import RecordingHeard, Visit

SAME_PLACE_S = 1e-3
"""Utterances that begin this much before the end of the last one heard were heard before."""

Progress = Callable[[float, float | None], None]
"""Takes the seconds heard so far, and the length of the recording where it is known."""


@dataclass(frozen=True, slots=True)
class Telling:
    """Who is told what while a recording is heard."""

    tell: Tell = lambda sentence: None
    heed: Heed = ignore
    progress: Progress = lambda done_s, length_s: None


def replay(
    session: Session, path: Path, started_at: str | None = None, telling: Telling | None = None
) -> Iterator[Event]:
    """Hear a recording, or take a .txt file of phrases, one a line."""
    telling = telling or Telling()
    typed = path.suffix.lower() == ".txt"
    source = phrases_of(path) if typed else open_recording(path)
    known = _begun(session, path, started_at, telling.tell, "taken" if typed else "heard")
    if known is None:
        return
    if isinstance(source, Recording):
        yield from _heard(session, source, known, path, telling)
    else:
        yield from _typed(session, source, known, path, telling)


def so_far(visit: Visit, path: Path) -> str:
    """How much of a recording, or of a file of phrases, a visit holds, in words."""
    with path.open("rb") as file:
        digest = hashlib.file_digest(file, "sha256").hexdigest()
    known = next((each for each in visit.recordings if each.digest == digest), None)
    if known is None:
        return f"nothing of {path} was taken"
    if path.suffix.lower() == ".txt":
        lines = [line for line, _ in phrases_of(path)]
        taken = sum(line <= known.lines_read for line in lines)
        return f"{taken} of {len(lines)} phrases of {path} were taken"
    until_s, length_s = known.heard_until_s - known.offset_s, open_recording(path).duration_s
    whole = "" if length_s is None else f" of {length_s:.0f}"
    return f"{until_s:.0f}{whole} s of {path} were heard"


def phrases_of(path: Path) -> list[tuple[int, str]]:
    """Phrases of a text file with their lines; blank lines are left out. Raises BadInputError."""
    content = content_of(path, "the file of phrases")
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


def _begun(
    session: Session, path: Path, started_at: str | None, tell: Tell, done: str
) -> RecordingHeard | None:
    """A recording, newly begun or as far as it was heard before; None where that is its end.

    Raises BadInputError where it cannot be read.
    """
    try:
        with path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        raise BadInputError(f"{path} cannot be read: {error.strerror}.") from error
    before = {known.digest: known for known in session.visit.recordings}
    if digest not in before:
        if path.name in {known.name for known in before.values()}:
            tell(
                f"Another {path.name} was heard in this visit; this one differs and is heard as"
                " well."
            )
        until_s = session.visit.audio_until_s
        session.take(Noted(RecordingOpened(digest, path.name, until_s, started_at)))
        before = {known.digest: known for known in session.visit.recordings}
    if before[digest].finished:
        tell(f"{path} was {done} before; nothing of it is {done} twice.")
        return None
    return before[digest]


def _typed(
    session: Session,
    phrases: list[tuple[int, str]],
    known: RecordingHeard,
    path: Path,
    telling: Telling,
) -> Iterator[Event]:
    if known.lines_read:
        telling.tell(f"{path} was taken up to line {known.lines_read}; it goes on from there.")
    for line, phrase in phrases:
        if line > known.lines_read:
            yield from session.type(phrase, known.digest, line)
    session.take(Noted(RecordingFinished(known.digest, session.visit.audio_until_s)))


def _heard(
    session: Session, recording: Recording, known: RecordingHeard, path: Path, telling: Telling
) -> Iterator[Event]:
    offset_s, heard_until_s = known.offset_s, known.heard_until_s
    if heard_until_s > offset_s:
        heard_s = heard_until_s - offset_s
        telling.tell(f"{path} was heard up to {heard_s:.1f} s; it goes on from there.")
    spoken, until_s, joiner = False, 0.0, Joiner(session, session.parse)
    for utterance in utterances(recording, heed=telling.heed):
        spoken, until_s = True, utterance.until_s
        telling.progress(until_s, recording.duration_s)
        placed = utterance.later(offset_s)
        if placed.at_s >= heard_until_s - SAME_PLACE_S:
            yield from session.hear(placed, known.digest)
            yield from joiner.heard(placed)
    if not spoken:
        telling.tell(f"No speech was found in {path}.")
    length_s = max(recording.duration_s or 0.0, until_s)
    session.take(Noted(RecordingFinished(known.digest, offset_s + length_s)))
