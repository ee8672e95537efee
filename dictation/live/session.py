"""A visit while it is spoken: sound is kept, then heard, then parsed, then decided and written.

What was heard is on the disk before it is shown, so a crash loses nothing that was kept.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from dictation.audio.endpoint import Utterance
from dictation.audio.keep import digest_of_sound, keep_utterance, load_utterance
from dictation.audio.samples import Samples
from dictation.decide.deciding import VOICE
from dictation.decide.doubt import doubts_of_reading
from dictation.decide.record import Flags, Record, Step, Written
from dictation.decide.rivals import Parse
from dictation.decide.understanding import Understanding
from dictation.decide.weighing import weighed
from dictation.errors import BadInputError, HornsweepError, WrongUseError
from dictation.intake.forget import forget_talk_in_time
from dictation.intake.upgrade import brought_up
from dictation.live.events import Closed, Ended, Event, Message, events_of
from dictation.live.second_copy import kept
from dictation.reader.number import phrase_of
from dictation.recognition.protocol import Heard, Outcome, Recogniser
from dictation.records.herd_list import read_herd_list
from dictation.records.visit_files import write_records, write_visit_files
from dictation.visit.facts import Captured, VisitOpened
from dictation.visit.inputs import By, Deed, Input, Noted, PhraseHeard, PhraseTyped, VisitClosed
from dictation.visit.journal import Journal
from dictation.visit.state import Visit
from grammar.findings import Reading, Unread
from grammar.parse import parse
from grammar.partly import part_of

OVER_OWN_VOICE = "it was said while hornsweep was speaking"
"""Why a phrase was not heard whose beginning lies in the tool's own voice."""

AfterSound = Callable[[Utterance], tuple[Event, ...]]
"""What is done once an utterance was heard and recorded."""


Tell = Callable[[str], None]
"""Takes a sentence for the user."""


@dataclass(frozen=True, slots=True)
class Begin:
    """What a visit begins with. ``on``: its day; None goes on with whatever is there.

    ``copy``: where a second copy is kept.
    """

    folder: Path
    on: date | None = None
    herd: Path | None = None
    farm: str | None = None
    copy: Path | None = None


class Session:
    """One visit being recorded. ``visit`` and ``flags`` are what it has come to so far.

    ``parse``: reads words with an eye on the visit, whatever it was given.
    """

    def __init__(
        self,
        journal: Journal,
        parse: Parse,
        recogniser: Recogniser | None = None,
        written: Written | None = None,
    ) -> None:
        self.journal = journal
        self.book = Record(journal)
        understands = isinstance(parse, Understanding)
        self.parse = parse if understands else Understanding(parse, lambda: self.visit)
        self._recogniser = recogniser
        self._written = written

    @property
    def visit(self) -> Visit:
        """What the visit has come to."""
        return self.book.visit

    @property
    def flags(self) -> Flags:
        """The flags of its exams."""
        return self.book.flags

    def begin(self, on_date: date | None, today: date, farm: str | None = None) -> bool:
        """Open the visit, or go on with it where the journal already holds it (then True).

        Raises WrongUseError where the journal holds the visit of another day.
        """
        held = self.visit.on_date
        if held is None:
            self.take(Noted(VisitOpened(on_date or today, farm)))
            return False
        if on_date is not None and on_date != held:
            raise WrongUseError(
                f"{self.journal.folder} holds the visit of {held}, not of {on_date}:"
                " give another folder with --out."
            )
        return True

    def hear(self, utterance: Utterance, recording: str | None = None) -> tuple[Event, ...]:
        """Keep one utterance, hear it, record it. Its times are seconds of the visit's audio."""
        captured = self._captured_before(utterance, recording)
        if captured is None:
            number = self.visit.given.phrase + 1
            captured = Captured(number, utterance.at_s, utterance.until_s, recording)
            self.take(Noted(captured))
        path = keep_utterance(self.journal.folder, captured.phrase, utterance)
        if utterance.over_own_voice:
            heard = Heard(Outcome.FAILED, reasons=(OVER_OWN_VOICE,))
        else:
            heard = self.listen(utterance.samples)
        return self.take_heard(captured, path, heard)

    def type(
        self, text: str, recording: str | None = None, line: int | None = None
    ) -> tuple[Event, ...]:
        """Take a phrase that was typed, the same way as if it had been heard."""
        phrase, no_number = phrase_of(text)
        on = self.visit.on_date
        assert on is not None
        reading = self.parse(phrase, on)
        if no_number is not None:
            reading = Reading(text, reading.normal, unread=Unread(0, no_number))
        doubts = doubts_of_reading(reading, on) if no_number is None else (no_number,)
        part = part_of(reading, on) if no_number is None else None
        typed = PhraseTyped(
            phrase=self.visit.given.phrase + 1,
            text=text,
            said=reading.said,
            alternatives=reading.others,
            unread=reading.unread,
            doubts=doubts,
            recording=recording,
            line=line,
            part=() if part is None else part.said,
            rest=None if part is None else part.rest,
        )
        return self.take(typed)

    def recover(self, after: AfterSound = lambda sound: ()) -> tuple[Event, ...]:
        """Hear again what was cut out and kept before a crash, and never came to be heard.

        ``after``: what is to be done behind each, as when it is heard live.
        """
        happened: list[Event] = []
        for captured in self.visit.captured:
            path = self._kept(captured.phrase)
            if path is not None:
                happened += self._recover_one(captured, path, after)
            elif captured.recording is None:
                happened += self._lost(
                    captured, None, "the program ended before its sound was kept"
                )
        return tuple(happened)

    def close(self) -> tuple[Event, ...]:
        """The visit is over."""
        return () if self.visit.closed else self.take(VisitClosed())

    def take(self, given: Input, by: By = VOICE) -> tuple[Event, ...]:
        """Decide an input, write it and apply it; what happened."""
        return self._told(self.book.take(given, by))

    def put_right(self, deed: Deed, by: By) -> tuple[Event, ...]:
        """As ``take``, of a person who had seen the visit up to entry ``by.based_on``.

        Raises ChangedMeanwhileError and WrongUseError as ``Record.put_right`` does.
        """
        return self._told(self.book.put_right(deed, by))

    def _told(self, steps: tuple[Step, ...]) -> tuple[Event, ...]:
        happened = events_of(steps)
        if self._written is not None and any(isinstance(e, Closed | Ended) for e in happened):
            return (*happened, *self._write(self._written))
        return happened

    def _write(self, written: Written) -> tuple[Event, ...]:
        """The files as the visit is now; where that fails, it is told: the entry itself is kept."""
        try:
            written(self.visit, self.flags)
        except HornsweepError as error:
            return (Message(str(error), "no_room"),)
        return ()

    def catch_up(self) -> tuple[Event, ...]:
        """What others have added to the journal meanwhile."""
        return events_of(self.book.catch_up())

    def _captured_before(self, utterance: Utterance, recording: str | None) -> Captured | None:
        same = (c for c in self.visit.captured if c.recording == recording)
        return next((c for c in same if abs(c.at_s - utterance.at_s) < 1e-6), None)

    def _kept(self, number: int) -> Path | None:
        found = sorted(self.journal.audio.glob(f"{number:04d}*.flac"))
        return found[-1] if found else None

    def _recover_one(self, captured: Captured, path: Path, after: AfterSound) -> tuple[Event, ...]:
        try:
            samples = load_utterance(path)
        except BadInputError as error:
            return self._lost(captured, path.name, str(error))
        happened = self.take_heard(captured, path, self.listen(samples))
        sound = Utterance(samples, captured.at_s, captured.until_s, captured.phrase)
        return (*happened, *after(sound))

    def _lost(self, captured: Captured, audio: str | None, why: str) -> tuple[Event, ...]:
        """An utterance that cannot be heard is on record, and asked about."""
        lost = PhraseHeard(
            captured.phrase,
            audio,
            captured.at_s,
            captured.until_s,
            Outcome.FAILED,
            recording=captured.recording,
            reasons=(why,),
        )
        return self.take(lost)

    def listen(self, samples: Samples) -> Heard:
        """What the recogniser hears; nothing is recorded."""
        if self._recogniser is None:
            raise WrongUseError("This session has no recogniser: it takes typed phrases only.")
        return self._recogniser.recognise(samples)

    def take_heard(self, captured: Captured, path: Path, heard: Heard) -> tuple[Event, ...]:
        """Record what was heard in an utterance whose sound is kept at ``path``."""
        on = self.visit.on_date
        assert on is not None
        made = weighed(heard, self.parse, self.visit, on)
        given = PhraseHeard(
            phrase=captured.phrase,
            audio=path.name,
            at_s=captured.at_s,
            until_s=captured.until_s,
            outcome=heard.outcome,
            engine="" if self._recogniser is None else self._recogniser.name,
            recording=captured.recording,
            hypotheses=heard.hypotheses,
            free_text=heard.free_text,
            free_log_score=heard.free_log_score,
            confidence=made.confidence,
            reasons=heard.reasons,
            said=made.said,
            alternatives=made.alternatives,
            unread=made.unread,
            doubts=made.doubts,
            by_context=made.by_context,
            audio_digest=digest_of_sound(path),
        )
        return self.take(given)


@contextmanager
def session_in(
    begin: Begin,
    recogniser: Recogniser | None,
    tell: Tell = lambda sentence: None,
    understand: Parse = parse,
) -> Iterator[Session]:
    """The visit in a folder. Its CSV files are written as each animal closes and at the end.

    They are written however the work ended, as long as the visit itself could be opened; what went
    wrong first is what is raised.
    """
    folder = begin.folder
    listed = None if begin.herd is None else read_herd_list(begin.herd)
    brought_up(folder, tell)
    forget_talk_in_time(folder, tell)
    with Journal.write(folder) as journal, kept(folder, begin.copy) as second:

        def written(visit: Visit, flags: Flags) -> None:
            write_records(folder, visit, flags)
            if second is not None:
                second.after_animal()

        session = Session(journal, understand, recogniser, written)
        for line in journal.damage():
            tell(line)
        if session.begin(begin.on, date.today(), begin.farm):
            tell(f"{folder} holds the visit of {session.visit.on_date}; it goes on there.")
            _write_all(session, tell)  # whole again after a crash, and the next animal costs little
        if listed is not None:
            session.take(Noted(listed))
        try:
            yield session
        except HornsweepError:
            # What went wrong first is what helps: on a full disk these files have no room either.
            _write_all(session, lambda sentence: None)
            raise
        except BaseException:
            _write_all(session, tell)
            raise
        _write_all(session, None)


def _write_all(session: Session, tell: Tell | None) -> None:
    """The files of the visit as it is now; a failure is raised, or told where ``tell`` is given."""
    folder = session.journal.folder
    try:
        while True:
            session.catch_up()
            write_visit_files(folder, session.visit, session.flags)
            # Somebody may have put something right, and written it, between those two.
            if not session.journal.moved_on(session.visit.last_seq):
                return
    except HornsweepError as error:
        if tell is None:
            raise
        tell(str(error))
