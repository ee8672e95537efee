"""One phrase, spoken or typed: what becomes of it, and what goes on record of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from dictation.decide.draft import Breath, Draft, asked_by, record
from dictation.decide.spoken import perform, perform_doubtful, perform_sure
from dictation.recognition.protocol import Outcome
from dictation.visit.facts import FindingSet
from dictation.visit.inputs import PhraseHeard, PhraseTyped
from dictation.visit.parts import Fate, Phrase
from dictation.visit.state import Visit
from grammar.findings import Command, CommandName, Note, Said, Unread


@dataclass(frozen=True, slots=True)
class Understood:
    """What was said, as far as it was understood when it was heard.

    ``phrase``: as it goes on record. ``free_text``: as heard without the grammar.
    """

    phrase: Phrase
    free_text: str
    outcome: Outcome
    said: tuple[Said, ...]
    alternatives: tuple[tuple[Said, ...], ...]
    unread: Unread | None
    started_at: str | None
    reasons: tuple[str, ...] = ()

    @property
    def commands(self) -> frozenset[CommandName]:
        """Names of the commands in it."""
        return frozenset(s.what.name for s in self.said if isinstance(s.what, Command))

    @property
    def doubts(self) -> tuple[str, ...]:
        """Why it was not taken as sure."""
        return self.phrase.doubts

    @property
    def breath(self) -> Breath:
        """The phrase as it is performed."""
        told = self.phrase
        return Breath(
            told.number,
            told.text,
            True,
            told.at_s,
            told.until_s,
            told.confidence,
            self.started_at,
            told.doubts,
        )


def heard_phrase(visit: Visit, given: PhraseHeard, at: str) -> Understood:
    """A phrase that was heard. ``at``: the clock's time, where no recording has its own."""
    best = given.hypotheses[0].normal if given.hypotheses else ""
    phrase = Phrase(
        number=given.phrase,
        text=best or given.free_text,
        fate=Fate.REFUSED,
        at_s=given.at_s,
        until_s=given.until_s,
        audio=given.audio,
        confidence=given.confidence,
        doubts=given.doubts,
        recording=given.recording,
    )
    return Understood(
        phrase=phrase,
        free_text=given.free_text or best,
        outcome=given.outcome,
        said=given.said,
        alternatives=given.alternatives,
        unread=given.unread,
        started_at=_time_of(visit, given.recording, given.at_s, at),
        reasons=given.reasons,
    )


def typed_phrase(visit: Visit, given: PhraseTyped, at: str) -> Understood:
    """A phrase that was typed, taken the same way."""
    phrase = Phrase(
        given.phrase,
        given.text,
        Fate.REFUSED,
        doubts=given.doubts,
        recording=given.recording,
        line=given.line,
    )
    return Understood(
        phrase=phrase,
        free_text=given.text,
        outcome=Outcome.HEARD,
        said=given.said,
        alternatives=given.alternatives,
        unread=given.unread,
        started_at=_time_of(visit, given.recording, 0.0, at),
    )


def take_phrase(draft: Draft, told: Understood) -> None:
    """What a phrase does, and the phrase itself on record."""
    before = draft.visit.in_hand
    draft.go("reply", "")
    fate = _judge(draft, told)
    exam = _exam_concerned(draft, before)
    draft.put_phrase(replace(told.phrase, fate=fate, exam=exam))


_ENDS_A_NOTE = frozenset({CommandName.NEXT_ANIMAL, CommandName.CLOSE, CommandName.CLOSE_VISIT})


def _judge(draft: Draft, told: Understood) -> Fate:
    visit = draft.visit
    if visit.paused and CommandName.RESUME not in told.commands:
        return Fate.PAUSED
    if visit.paused:
        perform(draft, told.breath, told.said)
        return Fate.COMMAND
    if told.outcome is Outcome.SILENCE:
        return Fate.SILENT
    if visit.going.note_awaited:
        return _note(draft, told)
    if told.outcome is not Outcome.HEARD or told.unread is not None or not told.said:
        return _not_understood(draft, told)
    if told.doubts:
        perform_doubtful(draft, told.breath, told.said, told.alternatives)
    else:
        perform_sure(draft, told.breath, told.said)
    return _fate(draft, told)


def _fate(draft: Draft, told: Understood) -> Fate:
    if asked_by(draft.visit, told.phrase.number):
        return Fate.ASKED
    only_commands = all(isinstance(s.what, Command) for s in told.said)
    return Fate.COMMAND if only_commands else Fate.RECORDED


def _note(draft: Draft, told: Understood) -> Fate:
    if not told.doubts and CommandName.SCRATCH in told.commands:
        draft.go("note_awaited", False)
        draft.reply("No note, then.")
        return Fate.COMMAND
    draft.go("note_awaited", False)
    if not told.doubts and told.commands & _ENDS_A_NOTE:
        perform_sure(draft, told.breath, told.said)
        return _fate(draft, told)
    words = told.free_text or told.phrase.text or "(not understood, see the sound)"
    record(draft, told.breath, Note(words), words)
    return Fate.NOTED


def _not_understood(draft: Draft, told: Understood) -> Fate:
    """Chatter is kept and passed over; what may have been meant for us is asked about."""
    if told.outcome is Outcome.TOO_LONG:
        question = "Too much was said in one breath: say it again in parts."
        why = "; ".join(told.reasons) or "the utterance was too long to be heard"
    elif told.outcome is Outcome.FAILED:
        question = "The recogniser failed on the last words: say them again."
        why = "; ".join(told.reasons) or "the recogniser failed"
    elif not told.doubts:
        return Fate.REFUSED
    else:
        words = told.free_text or told.phrase.text
        question = f"Not understood: '{words}'. Say it again, or 'no'."
        why = "; ".join(told.doubts)
    draft.ask(told.phrase.number, question, why)
    return Fate.ASKED


def _exam_concerned(draft: Draft, before: int | None) -> int | None:
    touched = [f.number for f in draft.facts if isinstance(f, FindingSet)]
    exam = draft.visit.index.places.get(touched[-1]) if touched else None
    if exam is not None:
        return exam
    return draft.visit.in_hand if draft.visit.in_hand is not None else before


def _time_of(visit: Visit, digest: str | None, at_s: float, at: str) -> str | None:
    """Time of day of something said: the clock's when live, the recording's own if it is known."""
    if digest is None:
        return at
    recording = next((r for r in visit.recordings if r.digest == digest), None)
    if recording is None or recording.started_at is None:
        return None
    start = datetime.fromisoformat(recording.started_at)
    moment = start + timedelta(seconds=at_s - recording.offset_s)
    return moment.isoformat(timespec="seconds")
