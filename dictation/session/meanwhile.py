"""Two people at one visit: whether what a correction is about changed after its author looked."""

from __future__ import annotations

from dictation.session.breath import standing_of
from dictation.session.deeds import place_of, why_not_undone
from dictation.session.events import (
    Approved,
    Corrected,
    Event,
    Inserted,
    Merged,
    PhraseMoved,
    QueryAnswered,
    Renumbered,
    Split,
    Withdrawn,
)
from dictation.session.review_events import ExamAdded, Reheard, Rephrased, Undone
from dictation.session.visit import QueryState, Visit
from grammar.exam import FindingState, RecordedFinding
from grammar.wording import written


def changed_meanwhile(seen: Visit, now: Visit, event: Event) -> str | None:
    """What changed between ``seen`` and ``now`` that ``event`` is about, as a sentence; or None.

    More being said of the animal in hand is no change to what was said before.
    """
    if seen.last_seq == now.last_seq:
        return None
    told = _changed(seen, now, event)
    return None if told is None else told + _by_whom(seen, now)


def _changed(seen: Visit, now: Visit, event: Event) -> str | None:  # noqa: PLR0911 - one a kind
    match event:
        case Corrected() | Withdrawn():
            return _finding(seen, now, event.finding)
        case Rephrased() | PhraseMoved() | Reheard():
            return _phrase(seen, now, event.utterance)
        case QueryAnswered():
            return _query(seen, now, event.query)
        case Inserted():
            return _inserted(seen, now, event)
        case Merged():
            return _exam(seen, now, event.exam) or _exam(seen, now, event.into)
        case Split() | Renumbered():
            return _exam(seen, now, event.exam)
        case ExamAdded():
            gone = event.after is not None and now.exam(event.after) is None
            return "The animal before it is not there any more" if gone else None
        case Approved():
            return _approved(seen, now, event.exam)
        case Undone():
            return why_not_undone(now, event.undone)
        case _:
            return None


def _finding(seen: Visit, now: Visit, number: int) -> str | None:
    was, is_now = place_of(seen, number), place_of(now, number)
    if was == is_now:
        return None
    if is_now is None or is_now[1].state is FindingState.WITHDRAWN:
        return "This finding was withdrawn meanwhile"
    if was is None or was[1].finding != is_now[1].finding:
        return f"This finding was changed meanwhile and is now '{_words(is_now[1])}'"
    if was[0] != is_now[0]:
        return f"This finding was moved to exam {is_now[0]} meanwhile"
    return f"This finding was {is_now[1].state} meanwhile"


def _phrase(seen: Visit, now: Visit, utterance: int) -> str | None:
    was, is_now = standing_of(seen, utterance), standing_of(now, utterance)
    if was != is_now:
        words = "; ".join(_words(recorded) for recorded in is_now) or "nothing"
        return f"This phrase was changed meanwhile and now says '{words}'"
    before, after = seen.utterance(utterance), now.utterance(utterance)
    if before is not None and after is not None and before.exam != after.exam:
        return f"This phrase was moved to exam {after.exam} meanwhile"
    return None


def _query(seen: Visit, now: Visit, query_id: str) -> str | None:
    was, is_now = seen.query(query_id), now.query(query_id)
    if is_now is None or was is None:
        return "This question is not there any more"
    if is_now.state is not QueryState.OPEN and was.state is QueryState.OPEN:
        return f"This was settled meanwhile ({is_now.answer or is_now.state})"
    return None if was.alternatives == is_now.alternatives else "This question changed meanwhile"


def _inserted(seen: Visit, now: Visit, event: Inserted) -> str | None:
    if now.exam(event.exam) is None:
        return "This animal is not there any more"
    if event.of_utterance is None:
        return None
    known = {deed.seq for deed in seen.deeds}
    for deed in now.deeds:
        same = isinstance(deed.event, Inserted | Rephrased) and _of(deed.event)
        if same == event.of_utterance and deed.seq not in known and not deed.undone:
            return "This speech was taken up meanwhile"
    return None


def _of(event: Inserted | Rephrased) -> int | None:
    return event.of_utterance if isinstance(event, Inserted) else event.utterance


def _exam(seen: Visit, now: Visit, number: int) -> str | None:
    was, is_now = seen.exam(number), now.exam(number)
    if is_now is None or was is None:
        return "This animal was merged into another meanwhile"
    if was.tag != is_now.tag:
        return f"This animal's tag is {is_now.tag or 'unknown'} since meanwhile"
    if is_now.recorded[: len(was.recorded)] != was.recorded:
        return "Findings of this animal were changed meanwhile"
    return None


def _approved(seen: Visit, now: Visit, number: int | None) -> str | None:
    numbers = {e.number for e in (*seen.exams, *now.exams)} if number is None else {number}
    for each in sorted(numbers):
        was, is_now = seen.exam(each), now.exam(each)
        if was is None or is_now is None:
            return "Animals were added or merged meanwhile"
        if (was.recorded, was.tag, was.open_queries) != (
            is_now.recorded,
            is_now.tag,
            is_now.open_queries,
        ):
            return f"{'Tag ' + is_now.tag if is_now.tag else f'Exam {each}'} was changed meanwhile"
    return None


def _words(recorded: RecordedFinding) -> str:
    return written(recorded.finding)


def _by_whom(seen: Visit, now: Visit) -> str:
    names = {deed.who for deed in now.deeds if deed.seq > seen.last_seq and deed.who}
    by = f" by {', '.join(sorted(names))}" if names else ""
    return f"{by}; nothing of yours was lost or done: look again."
