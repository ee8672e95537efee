"""Numbers that sound alike are asked about, and context decides nothing by itself."""

from __future__ import annotations

from datetime import timedelta

import pytest

from dictation.decide.doubt import SOUND_ALIKE, alike_in
from dictation.visit.facts import HerdListed
from dictation.visit.parts import Fate, Query
from grammar.exam import FindingState, KnownAnimal, Service
from tests.decide.spoken import ON, Phrase, Unsure, states, sure, visit_of

COW = "cow eight three seven"
PAIRS = [(a, b) for a in SOUND_ALIKE for b in SOUND_ALIKE[a] if a.isalpha()]


def query(*phrases: Phrase) -> Query:
    found = visit_of(*phrases).asked
    assert found is not None
    return found


def words(found: Query) -> list[str]:
    return [alternative.words for alternative in found.alternatives]


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_a_doubtful_number_is_asked_with_both_candidates_and_the_reason(
    one: str, other: str
) -> None:
    heard = Unsure(f"right ovary cyst {one}", (f"right ovary cyst {other}",))
    found = query(COW, heard)
    assert len(found.alternatives) == 2
    assert f"'{one}' and '{other}' sound alike" in found.why


def test_an_age_too_young_to_be_seen_is_asked_with_the_age_that_sounds_like_it() -> None:
    found = query(COW, sure("pregnant fourteen days"))
    assert words(found) == ["pregnant 14 days", "pregnant 40 days"]
    assert "outside 19 to 300 days" in found.why
    assert "'fourteen' and 'forty' sound alike" in found.why


def test_what_was_heard_stays_queried_until_it_is_answered() -> None:
    visit = visit_of(COW, sure("pregnant fourteen days"))
    assert states(visit.exam_in_hand)[-1] is FindingState.QUERIED
    assert visit_of(COW, sure("pregnant fourteen days"), "second one").asked is None


def test_a_size_no_structure_has_is_asked_with_the_one_that_sounds_like_it() -> None:
    assert words(query(COW, sure("left ovary cl ninety"))) == [
        "left ovary corpus luteum 90 mm",
        "left ovary corpus luteum 19 mm",
    ]


def listed(days_since: int) -> HerdListed:
    services = (Service(ON - timedelta(days=days_since)),)
    return HerdListed("digest", "list.csv", (KnownAnimal("837", services=services),))


def test_an_age_that_fits_no_service_is_asked_where_its_neighbour_fits_one() -> None:
    found = query(listed(59), COW, sure("pregnant fifty days"))
    assert words(found) == ["pregnant 50 days", "pregnant 60 days"]
    assert "60 days fits one 59 days ago" in found.why


def test_an_age_that_fits_its_service_is_not_asked_about() -> None:
    assert visit_of(listed(51), COW, sure("pregnant fifty days")).asked is None


def test_an_age_whose_neighbour_fits_no_better_is_not_asked_about() -> None:
    assert visit_of(listed(90), COW, sure("pregnant fifty days")).asked is None


@pytest.mark.parametrize(
    ("written", "value"),
    [
        ("left ovary follicle for mil", "left ovary follicle 4 mm"),
        ("right ovary cl to centimetres", "right ovary corpus luteum 20 mm"),
        ("left ovary follicle ate mil", "left ovary follicle 8 mm"),
    ],
)
def test_a_word_that_sounds_like_a_number_is_offered_as_one_and_asked(
    written: str, value: str
) -> None:
    visit = visit_of(COW, sure(written))
    assert visit.phrases[-1].fate is Fate.ASKED
    assert visit.asked is not None
    assert [a.words for a in visit.asked.alternatives] == [value]


@pytest.mark.parametrize(
    ("one", "other", "pair"),
    [
        (
            "left ovary cl 40 no structures",
            "left ovary cl fourteen no structures",
            ("forty", "fourteen"),
        ),
        ("pregnant 60 days", "pregnant 50 days", ("sixty", "fifty")),
        ("cow twenty two", "cow 22", None),
        ("cow 837", "cow 831", None),
        ("cow 3304", "cow 0 3.5", None),
    ],
)
def test_numbers_sound_alike_however_they_are_written(
    one: str, other: str, pair: tuple[str, str] | None
) -> None:
    assert alike_in(one, other) == pair
