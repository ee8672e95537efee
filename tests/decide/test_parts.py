"""A typed phrase of which a part was read: asked about, with the rest beside it as words."""

from __future__ import annotations

from datetime import date

from dictation.decide.doubt import doubts_of_reading
from dictation.visit.inputs import PhraseTyped
from dictation.visit.state import Visit
from grammar import parse
from grammar.exam import FindingState
from grammar.partly import part_of
from grammar.wording import written
from tests.decide.spoken import visit_of

ON = date(2026, 11, 18)
COW = "cow eight three seven"


def typed(text: str) -> PhraseTyped:
    reading = parse(text, ON)
    part = part_of(reading, ON)
    assert part is not None
    doubts = doubts_of_reading(reading, ON)
    return PhraseTyped(
        2, text, unread=reading.unread, doubts=doubts, part=part.said, rest=part.rest
    )


def told(visit: Visit) -> list[tuple[str, FindingState]]:
    exam = visit.exam_in_hand
    assert exam is not None
    return [(written(r.finding), r.state) for r in exam.standing][1:]


def test_the_part_waits_for_its_answer_and_nothing_is_lost() -> None:
    phrase = typed("pregnant forty days looks wobbly")
    visit = visit_of(COW, phrase)
    assert visit.asked is not None
    assert told(visit) == [
        ("pregnant 40 days", FindingState.QUERIED),
        ("note: looks wobbly", FindingState.QUERIED),
    ]
    kept = visit_of(COW, phrase, "yes")
    assert {state for _, state in told(kept)} == {FindingState.ACCEPTED}
    assert told(visit_of(COW, phrase, "no")) == []


def test_an_unknown_product_is_asked_for_its_class_and_never_given_one() -> None:
    phrase = typed("give her blupp")
    visit = visit_of(COW, phrase)
    assert visit.asked is not None
    assert "prostaglandin" in visit.asked.question
    assert told(visit)[0] == ("treat", FindingState.QUERIED)
    named = visit_of(COW, phrase, "correction, prostaglandin")
    assert ("prostaglandin", FindingState.CORRECTED) in told(named)
    assert named.asked is None
