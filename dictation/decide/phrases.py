"""One phrase, spoken or typed: what becomes of it, and what goes on record of it."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

from dictation.decide.draft import Breath, Draft, asked_by, record
from dictation.decide.leaving import CLOSED, closed_in_words, while_closed
from dictation.decide.partly import take_part
from dictation.decide.spoken import perform, perform_doubtful, perform_sure
from dictation.decide.waiting import wait_with_her
from dictation.recognition.protocol import Outcome
from dictation.visit.facts import FindingSet
from dictation.visit.inputs import PhraseHeard, PhraseTyped
from dictation.visit.parts import Fate, Phrase
from dictation.visit.state import Visit
from grammar.findings import Command, CommandName, Note

_WHILE_CLOSED = frozenset(
    {
        CommandName.REOPEN,
        CommandName.SCRATCH,
        CommandName.READ_BACK,
        CommandName.HELP,
        CommandName.ANSWER,
        CommandName.CLOSE_VISIT,
        CommandName.CLOSE_ANYWAY,
    }
)
"""What may be said once the visit is closed."""

_ENDS_A_NOTE = frozenset({CommandName.NEXT_ANIMAL, CommandName.CLOSE, CommandName.CLOSE_VISIT})

Given = PhraseHeard | PhraseTyped


def take_phrase(draft: Draft, given: Given, at: str) -> None:
    """What a phrase does, and the phrase itself on record.

    ``at``: the clock's time, where no recording has its own.
    """
    before = draft.visit.in_hand
    draft.go("reply", "")
    phrase = _phrase(given)
    fate = _judge(draft, given, Breath(phrase, started_at=_time_of(draft.visit, phrase, at)))
    exam = _exam_concerned(draft, before)
    draft.put_phrase(replace(phrase, fate=fate, exam=exam))


def _phrase(given: Given) -> Phrase:
    """As it goes on record, until it is known what becomes of it."""
    number, doubts, recording = given.phrase, given.doubts, given.recording
    if isinstance(given, PhraseTyped):
        phrase = Phrase(number, given.text, Fate.REFUSED, line=given.line)
    else:
        best = given.hypotheses[0].normal if given.hypotheses else ""
        phrase = Phrase(
            number,
            best or given.free_text,
            Fate.REFUSED,
            at_s=given.at_s,
            until_s=given.until_s,
            audio=given.audio,
            confidence=given.confidence,
            by_context=given.by_context,
            audio_digest=given.audio_digest,
        )
    return replace(phrase, doubts=doubts, recording=recording)


def _judge(draft: Draft, given: Given, breath: Breath) -> Fate:
    visit = draft.visit
    if visit.paused and CommandName.RESUME not in _commands(given):
        return Fate.PAUSED
    if visit.paused:
        perform(draft, breath, given.said)
        return Fate.COMMAND
    if given.outcome is Outcome.SILENCE:
        return Fate.SILENT
    if visit.going.note_awaited:
        return _note(draft, given, breath)
    if given.outcome is not Outcome.HEARD or given.unread is not None or not given.said:
        return _not_understood(draft, given, breath)
    return _understood(draft, given, breath)


def _understood(draft: Draft, given: Given, breath: Breath) -> Fate:
    if closed_in_words(draft.visit) and not _commands(given) & _WHILE_CLOSED:
        if given.doubts:
            draft.reply(CLOSED)
            return Fate.REFUSED
        while_closed(draft, breath, given.said)
    elif given.doubts:
        perform_doubtful(draft, breath, given.said, given.alternatives)
    else:
        perform_sure(draft, breath, given.said)
    return _fate(draft, given)


def _commands(given: Given) -> frozenset[CommandName]:
    return frozenset(s.what.name for s in given.said if isinstance(s.what, Command))


def _fate(draft: Draft, given: Given) -> Fate:
    if asked_by(draft.visit, given.phrase):
        return Fate.ASKED
    only_commands = all(isinstance(s.what, Command) for s in given.said)
    return Fate.COMMAND if only_commands else Fate.RECORDED


def _note(draft: Draft, given: Given, breath: Breath) -> Fate:
    commands = frozenset() if given.doubts else _commands(given)
    draft.go("note_awaited", False)
    if CommandName.SCRATCH in commands:
        draft.reply("No note, then.")
        return Fate.COMMAND
    if commands & _ENDS_A_NOTE:
        perform_sure(draft, breath, given.said)
        return _fate(draft, given)
    wait_with_her(draft, breath)
    words = given.free_text or breath.phrase.text or "(not understood, see the sound)"
    record(draft, breath, Note(words), words)
    return Fate.NOTED


def _not_understood(draft: Draft, given: Given, breath: Breath) -> Fate:
    """Chatter is kept and passed over; what may have been meant for us is asked about."""
    if isinstance(given, PhraseTyped) and given.part:
        take_part(draft, given, breath)
        return Fate.ASKED
    text = breath.phrase.text
    if given.outcome is Outcome.TOO_LONG:
        question = "Too much was said in one breath: say it again in parts."
        why = "; ".join(given.reasons) or "the utterance was too long to be heard"
    elif given.outcome is Outcome.FAILED:
        why = "; ".join(given.reasons) or "the recogniser failed"
        question = f"Not heard ({why}): say it again, or 'no'."
    elif not given.doubts:
        return Fate.REFUSED
    else:
        question = f"Not understood: '{given.free_text or text}'. Say it again, or 'no'."
        why = "; ".join(given.doubts)
    draft.ask(given.phrase, question, why)
    return Fate.ASKED


def _exam_concerned(draft: Draft, before: int | None) -> int | None:
    touched = [f.number for f in draft.facts if isinstance(f, FindingSet)]
    exam = draft.visit.index.places.get(touched[-1]) if touched else None
    if exam is not None:
        return exam
    return draft.visit.in_hand if draft.visit.in_hand is not None else before


def _time_of(visit: Visit, phrase: Phrase, at: str) -> str | None:
    """Time of day of something said: the clock's when live, the recording's own if it is known."""
    if phrase.recording is None:
        return at
    recording = next((r for r in visit.recordings if r.digest == phrase.recording), None)
    if recording is None or recording.started_at is None:
        return None
    start = datetime.fromisoformat(recording.started_at)
    moment = start + timedelta(seconds=(phrase.at_s or 0.0) - recording.offset_s)
    return moment.isoformat(timespec="seconds")
