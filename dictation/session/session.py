"""A visit while it is spoken. The one place that knows the order of the steps.

Sound is kept, then heard, then parsed, then appended to the journal, then folded, then checked.
What was heard is on the disk before it is shown, so a crash loses nothing that was kept.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

from dictation.audio.endpoint import Utterance
from dictation.audio.keep import keep_utterance, load_utterance
from dictation.audio.samples import Samples
from dictation.errors import BadInputError, WrongUseError
from dictation.recognition.protocol import Heard as HeardSound
from dictation.recognition.protocol import Outcome, Recogniser
from dictation.session.doubt import ASK_BELOW, Parse, doubts_of_reading
from dictation.session.electronic import phrase_of
from dictation.session.events import (
    Captured,
    Entry,
    Event,
    Heard,
    HerdListed,
    RecordingFinished,
    RecordingOpened,
    Typed,
    VisitClosed,
    VisitOpened,
)
from dictation.session.fold import fold, step
from dictation.session.happenings import Flags, Happening, happenings
from dictation.session.journal import Journal
from dictation.session.visit import RecordingHeard, Visit
from dictation.session.weighing import weighed
from grammar.checks import check_exam
from grammar.findings import Reading, Unread

OVER_OWN_VOICE = "it was said while hornsweep was speaking"
"""Why a phrase is asked about that the microphone heard together with the tool's own voice."""


AfterSound = Callable[[Utterance], tuple[Happening, ...]]
"""What is done once an utterance was heard and recorded."""


def _nothing_more(sound: Utterance) -> tuple[Happening, ...]:
    return ()


class Session:
    """One visit being recorded. ``visit`` and ``flags`` are what it has come to so far."""

    def __init__(
        self, journal: Journal, parse: Parse, recogniser: Recogniser | None = None
    ) -> None:
        self.journal = journal
        self._parse = parse
        self._recogniser = recogniser
        self.visit: Visit = fold(journal.entries())
        self.flags: Flags = {exam.number: check_exam(exam) for exam in self.visit.exams}

    def begin(self, on_date: date | None, today: date, farm: str | None = None) -> bool:
        """Open the visit, or go on with it where the journal already holds it (then True).

        Raises WrongUseError where the journal holds the visit of another day.
        """
        held = self.visit.on_date
        if held is None:
            self.take(VisitOpened(on_date or today, farm, grammar_version=grammar_version()))
            return False
        if on_date is not None and on_date != held:
            raise WrongUseError(
                f"{self.journal.folder} holds the visit of {held}, not of {on_date}:"
                " give another folder with --out."
            )
        return True

    def list_herd(self, herd: HerdListed) -> tuple[Happening, ...]:
        """Take up a herd list; one that the visit already has is not taken up again."""
        return () if herd.digest == self.visit.herd_digest else self.take(herd)

    def open_recording(self, digest: str, name: str, started_at: str | None) -> RecordingHeard:
        """Begin a recording, or find out how far it was heard before."""
        known = self._recording(digest)
        if known is None:
            self.take(RecordingOpened(digest, name, self.visit.audio_until_s, started_at))
            known = self._recording(digest)
            assert known is not None
        return known

    def finish_recording(self, digest: str, until_s: float) -> None:
        """A recording was heard to its end."""
        self.take(RecordingFinished(digest, until_s))

    def hear(self, utterance: Utterance, recording: str | None = None) -> tuple[Happening, ...]:
        """Keep one utterance, hear it, record it. Its times are seconds of the visit's audio."""
        captured = self._captured_before(utterance, recording)
        if captured is None:
            number = self.visit.last_utterance + 1
            captured = Captured(number, utterance.at_s, utterance.until_s, recording)
            self.take(captured)
        path = keep_utterance(self.journal.folder, captured.utterance, utterance)
        heard = self.listen(utterance.samples)
        if utterance.over_own_voice:
            reasons = (OVER_OWN_VOICE, *heard.reasons)
            confidence = min(heard.confidence, ASK_BELOW / 2)
            heard = replace(heard, confidence=confidence, reasons=reasons)
        return self.take_heard(captured, path, heard)

    def type(
        self, text: str, recording: str | None = None, line: int | None = None
    ) -> tuple[Happening, ...]:
        """Take a phrase that was typed, the same way as if it had been heard."""
        phrase, no_number = phrase_of(text)
        reading = self._parse(phrase, self.visit.on_date)
        if no_number is not None:
            reading = Reading(text, reading.normal, unread=Unread(0, no_number))
        assert self.visit.on_date is not None
        doubts = doubts_of_reading(reading, self.visit.on_date)
        typed = Typed(
            utterance=self.visit.last_utterance + 1,
            text=text,
            said=reading.said,
            alternatives=reading.others,
            unread=reading.unread,
            doubts=doubts if no_number is None else (no_number,),
            recording=recording,
            line=line,
        )
        return self.take(typed)

    def recover(self, after: AfterSound = _nothing_more) -> tuple[Happening, ...]:
        """Hear again what was cut out and kept before a crash, and never came to be heard.

        ``after``: what is to be done behind each, as when it is heard live.
        """
        happened: list[Happening] = []
        for captured in self.visit.captured:
            path = self._kept(captured.utterance)
            if path is not None:
                happened += self._recover_one(captured, path, after)
            elif captured.recording is None:
                happened += self.take(
                    Heard(
                        captured.utterance,
                        None,
                        captured.at_s,
                        captured.until_s,
                        Outcome.FAILED,
                        reasons=("the program ended before its sound was kept",),
                    )
                )
        return tuple(happened)

    def close(self, why: str) -> tuple[Happening, ...]:
        """The visit is over."""
        return () if self.visit.closed else self.take(VisitClosed(why))

    def take(self, event: Event) -> tuple[Happening, ...]:
        """Append an event, fold it, check what it touched."""
        entry = self.journal.append(event)
        others = self.catch_up(entry.seq)
        return (*others, *self._step(entry))

    def catch_up(self, before_seq: int | None = None) -> tuple[Happening, ...]:
        """Fold in what others have added to the journal meanwhile: people's corrections."""
        if before_seq == self.visit.last_seq + 1:
            return ()
        happened: list[Happening] = []
        for entry in self.journal.entries(self.visit.last_seq):
            if before_seq is None or entry.seq < before_seq:
                happened += self._step(entry)
        return tuple(happened)

    def _step(self, entry: Entry) -> tuple[Happening, ...]:
        before, flags_before = self.visit, self.flags
        self.visit = step(before, entry)
        self.flags = self._checked(before)
        return happenings(before, self.visit, flags_before, self.flags)

    def _checked(self, before: Visit) -> Flags:
        known = {id(exam) for exam in before.exams}
        return {
            exam.number: self.flags[exam.number] if id(exam) in known else check_exam(exam)
            for exam in self.visit.exams
        }

    def _recording(self, digest: str) -> RecordingHeard | None:
        return next((r for r in self.visit.recordings if r.digest == digest), None)

    def _captured_before(self, utterance: Utterance, recording: str | None) -> Captured | None:
        return next(
            (
                c
                for c in self.visit.captured
                if c.recording == recording and abs(c.at_s - utterance.at_s) < 1e-6
            ),
            None,
        )

    def _kept(self, number: int) -> Path | None:
        found = sorted(self.journal.audio.glob(f"{number:04d}*.flac"))
        return found[-1] if found else None

    def _recover_one(
        self, captured: Captured, path: Path, after: AfterSound
    ) -> tuple[Happening, ...]:
        try:
            samples = load_utterance(path)
        except BadInputError as error:
            lost = Heard(
                captured.utterance,
                path.name,
                captured.at_s,
                captured.until_s,
                Outcome.FAILED,
                recording=captured.recording,
                reasons=(str(error),),
            )
            return self.take(lost)
        happened = self.take_heard(captured, path, self.listen(samples))
        sound = Utterance(samples, captured.at_s, captured.until_s, captured.utterance)
        return (*happened, *after(sound))

    def listen(self, samples: Samples) -> HeardSound:
        """What the recogniser hears; nothing is recorded."""
        if self._recogniser is None:
            raise WrongUseError("This session has no recogniser: it takes typed phrases only.")
        return self._recogniser.recognise(samples)

    def take_heard(
        self, captured: Captured, path: Path, heard: HeardSound
    ) -> tuple[Happening, ...]:
        """Record what was heard in an utterance whose sound is kept at ``path``."""
        event = self._heard_event(captured, path.name, heard)
        engine = "" if self._recogniser is None else self._recogniser.name
        return self.take(replace(event, engine=engine))

    def _heard_event(self, captured: Captured, audio: str, heard: HeardSound) -> Heard:
        on = self.visit.on_date
        assert on is not None
        made = weighed(heard, self._parse, self.visit, on)
        return Heard(
            utterance=captured.utterance,
            audio=audio,
            at_s=captured.at_s,
            until_s=captured.until_s,
            outcome=heard.outcome,
            recording=captured.recording,
            hypotheses=heard.hypotheses,
            free_text=heard.free_text,
            free_log_score=heard.free_log_score,
            confidence=heard.confidence,
            reasons=heard.reasons,
            said=made.said,
            alternatives=made.alternatives,
            unread=made.unread,
            doubts=made.doubts,
        )


def grammar_version() -> str:
    """A short digest of the grammar and vocabulary of this day."""
    import hashlib

    from grammar.language import grammar_text

    return hashlib.sha256(grammar_text().encode()).hexdigest()[:12]
