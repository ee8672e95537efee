"""What a person did, in words: from what to what."""

from __future__ import annotations

from dictation.session.deeds import last_to_undo
from dictation.session.events import Approved, Inserted, Merged, PhraseMoved, Split
from dictation.session.review_events import ExamAdded, Undone
from dictation.session.visit import Deed, Place, QueryState, Visit
from grammar.exam import FindingState
from grammar.wording import written


def deed_words(deed: Deed) -> str:
    """'left ovary corpus luteum 22 mm became left ovary corpus luteum 24 mm'."""
    parts = [_head(deed)]
    parts += [words for each in deed.findings if (words := _finding(*each))]
    for _, before, after in deed.queries:
        asked = before or after
        if asked is not None and after is not None and after.state is not QueryState.OPEN:
            parts.append(f"settled '{asked.question}'")
    return "; ".join(part for part in parts if part)


def undo_words(visit: Visit) -> str:
    """What an undo would take back; empty where there is nothing."""
    last = last_to_undo(visit)
    return "" if last is None else f"{last.who}: {deed_words(last)}"


def _head(deed: Deed) -> str:
    event = deed.event
    match event:
        case Approved():
            return "approved the visit" if event.exam is None else "approved this animal"
        case Merged():
            return f"merged exam {event.exam} into exam {event.into}"
        case PhraseMoved():
            return f"moved a phrase to exam {event.to_exam}"
        case Inserted():
            missed = event.of_utterance is None
            return "typed in what was missed" if missed else "took up refused speech"
        case Undone():
            return f"took back correction {event.undone}"
        case _:
            return _PLAIN_HEADS.get(type(event), "")


_PLAIN_HEADS: dict[type, str] = {Split: "split this animal", ExamAdded: "added an animal"}


def _finding(_: int, before: Place | None, after: Place | None) -> str:
    was, now = _stands(before), _stands(after)
    if was is None and now is None:
        return ""
    if was is None:
        return f"added {now}"
    if now is None:
        return f"withdrew {was}"
    if was != now:
        return f"{was} became {now}"
    if before is not None and after is not None and before[0] == after[0]:
        return f"kept {now}"
    return ""


def _stands(place: Place | None) -> str | None:
    if place is None or place[1].state is FindingState.WITHDRAWN:
        return None
    return written(place[1].finding)
