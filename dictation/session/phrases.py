"""One phrase, spoken or typed: what becomes of it, and the record of what it did."""

from __future__ import annotations

from dataclasses import dataclass, replace

from dictation.recognition.protocol import Outcome
from dictation.session.asking import ask
from dictation.session.breath import Breath
from dictation.session.perform import keep_note, perform, perform_doubtful, perform_sure
from dictation.session.undo import base_of
from dictation.session.visit import Change, Fate, Touch, Utterance, Visit
from grammar.exam import FindingState
from grammar.findings import Command, CommandName, Said, Unread


@dataclass(frozen=True, slots=True)
class Phrase:
    """What was said, as far as it was understood when it was heard.

    ``text``: the words of the best hypothesis; ``free_text``: as heard without the grammar.
    """

    utterance: int
    text: str
    free_text: str
    outcome: Outcome = Outcome.HEARD
    said: tuple[Said, ...] = ()
    alternatives: tuple[tuple[Said, ...], ...] = ()
    unread: Unread | None = None
    doubts: tuple[str, ...] = ()
    at_s: float | None = None
    until_s: float | None = None
    audio: str | None = None
    confidence: float = 1.0
    started_at: str | None = None
    reasons: tuple[str, ...] = ()

    @property
    def commands(self) -> frozenset[CommandName]:
        """Names of the commands in it."""
        return frozenset(s.what.name for s in self.said if isinstance(s.what, Command))

    @property
    def breath(self) -> Breath:
        """The phrase as it is performed."""
        return Breath(
            self.utterance,
            self.text,
            True,
            self.at_s,
            self.until_s,
            self.confidence,
            self.started_at,
            self.doubts,
        )


def take_phrase(visit: Visit, phrase: Phrase) -> Visit:
    """The visit after a phrase, with the utterance and all that it touched on record."""
    before = replace(visit, reply="", last_utterance=max(visit.last_utterance, phrase.utterance))
    after, fate = _judge(before, phrase)
    return _on_record(before, after, phrase, fate)


_ENDS_A_NOTE = frozenset({CommandName.NEXT_ANIMAL, CommandName.CLOSE, CommandName.CLOSE_VISIT})


def _judge(visit: Visit, phrase: Phrase) -> tuple[Visit, Fate]:
    if visit.paused and CommandName.RESUME not in phrase.commands:
        return visit, Fate.PAUSED
    if visit.paused:
        return perform(visit, phrase.breath, phrase.said), Fate.COMMAND
    if phrase.outcome is Outcome.SILENCE:
        return visit, Fate.SILENT
    if visit.note_awaited:
        return _note(visit, phrase)
    if phrase.outcome is not Outcome.HEARD or phrase.unread is not None or not phrase.said:
        return _not_understood(visit, phrase)
    if phrase.doubts:
        visit = perform_doubtful(visit, phrase.breath, phrase.said, phrase.alternatives)
    else:
        visit = perform_sure(visit, phrase.breath, phrase.said)
    return _with_fate(visit, phrase)


def _with_fate(visit: Visit, phrase: Phrase) -> tuple[Visit, Fate]:
    if any(q.utterance == phrase.utterance for q in visit.open_queries):
        return visit, Fate.ASKED
    only_commands = all(isinstance(s.what, Command) for s in phrase.said)
    return visit, Fate.COMMAND if only_commands else Fate.RECORDED


def _note(visit: Visit, phrase: Phrase) -> tuple[Visit, Fate]:
    if not phrase.doubts and CommandName.SCRATCH in phrase.commands:
        return replace(visit, note_awaited=False, reply="No note, then."), Fate.COMMAND
    if not phrase.doubts and phrase.commands & _ENDS_A_NOTE:
        visit = replace(visit, note_awaited=False)
        return _with_fate(perform_sure(visit, phrase.breath, phrase.said), phrase)
    words = phrase.free_text or phrase.text or "(not understood, see the sound)"
    return keep_note(visit, phrase.breath, words), Fate.NOTED


def _not_understood(visit: Visit, phrase: Phrase) -> tuple[Visit, Fate]:
    """Chatter is kept and passed over; what may have been meant for us is asked about."""
    if phrase.outcome is Outcome.TOO_LONG:
        question = "Too much was said in one breath: say it again in parts."
        why = "; ".join(phrase.reasons) or "the utterance was too long to be heard"
    elif phrase.outcome is Outcome.FAILED:
        question = "The recogniser failed on the last words: say them again."
        why = "; ".join(phrase.reasons) or "the recogniser failed"
    elif not phrase.doubts:
        return visit, Fate.REFUSED
    else:
        question = f"Not understood: '{phrase.free_text or phrase.text}'. Say it again, or 'no'."
        why = "; ".join(phrase.doubts)
    return ask(visit, phrase.utterance, question, why), Fate.ASKED


def _on_record(before: Visit, after: Visit, phrase: Phrase, fate: Fate) -> Visit:
    changed = touched = _touches(before, after)
    answered = _answered(before, after)
    if CommandName.SCRATCH in phrase.commands:
        # What 'scratch that' took back is not its own doing: a second one goes on further back.
        touched = tuple(t for t in touched if base_of(t.number) == phrase.utterance)
        answered = ()
    opened = after.last_exam if after.last_exam > before.last_exam else None
    closed = before.in_hand if before.in_hand != after.in_hand else None
    by_command = {CommandName.NEXT_ANIMAL, CommandName.CLOSE, CommandName.ANSWER}
    implied = opened is not None and closed is not None and not phrase.commands & by_command
    utterance = Utterance(
        number=phrase.utterance,
        text=phrase.text or phrase.free_text,
        fate=fate,
        exam=_exam_concerned(before, after, changed),
        at_s=phrase.at_s,
        until_s=phrase.until_s,
        audio=phrase.audio,
        confidence=phrase.confidence,
        doubts=phrase.doubts,
        touched=touched,
        asked=tuple(q.id for q in after.queries if q.utterance == phrase.utterance),
        answered=answered,
        closed=closed,
        opened=opened,
        implied_next=implied,
    )
    changes = tuple(
        Change(
            touch.number,
            touch.before.finding,
            None if touch.after.state is FindingState.WITHDRAWN else touch.after.finding,
            "voice",
            utterance.text,
            phrase.started_at or "",
        )
        for touch in changed
        if touch.before is not None
        and (
            touch.before.finding != touch.after.finding
            or touch.after.state is FindingState.WITHDRAWN
        )
    )
    return replace(
        after, utterances=(*after.utterances, utterance), changes=(*after.changes, *changes)
    )


def _touches(before: Visit, after: Visit) -> tuple[Touch, ...]:
    # What is in a changed exam now was in a changed exam before, or nowhere.
    same = {id(exam) for exam in before.exams} & {id(exam) for exam in after.exams}
    was = {r.number: r for exam in before.exams if id(exam) not in same for r in exam.recorded}
    return tuple(
        Touch(recorded.number, was.get(recorded.number), recorded)
        for exam in after.exams
        if id(exam) not in same
        for recorded in exam.recorded
        if was.get(recorded.number) != recorded
    )


def _answered(before: Visit, after: Visit) -> tuple[str, ...]:
    now_open = {q.id for q in after.open_queries}
    there = {q.id for q in after.queries}
    return tuple(q.id for q in before.open_queries if q.id in there and q.id not in now_open)


def _exam_concerned(before: Visit, after: Visit, touched: tuple[Touch, ...]) -> int | None:
    if touched:
        exam = after.exam_of(touched[-1].number)
        if exam is not None:
            return exam.number
    return after.in_hand if after.in_hand is not None else before.in_hand
