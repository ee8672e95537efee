"""A vet says the end of the number on the ear tag; the list has it whole, and it stays whole."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictation.visit.facts import HerdListed
from dictation.visit.herd_numbers import HerdNumbers
from dictation.visit.state import Visit
from grammar.checks import check_exam
from grammar.exam import FindingState, KnownAnimal
from tests.decide.spoken import Phrase, states, sure, visit_of

# Invented numbers in the forms of public descriptions of official ear tags: two letters and up to
# twelve digits (EU, UK), and fifteen digits (ISO 11784).
GERMAN = ("DE 01 234 56837", "DE 01 234 56412", "DE 01 234 57412")


def herd(*animals: KnownAnimal | str) -> HerdListed:
    every = tuple(KnownAnimal(a) if isinstance(a, str) else a for a in animals)
    return HerdListed("digest", "list.csv", every)


def tags(*phrases: Phrase) -> list[str | None]:
    return [exam.tag for exam in visit_of(*phrases).exams]


def rules(visit: Visit) -> set[str]:
    return {flag.rule for exam in visit.exams for flag in check_exam(exam)}


@pytest.mark.parametrize(
    ("number", "said"),
    [
        ("DE 01 234 56837", "cow eight three seven"),
        ("DE 01 234 56837", "cow six eight three seven"),
        ("DE 01 234 56837", "cow five six eight three seven"),
        ("UK 123456 100837", "cow one double zero eight three seven"),
        ("NL 6802 5082 9", "cow oh eight two nine"),
        ("276012345656837", "cow eight thirty-seven"),
        ("840 003 123 456 837", "cow four five six eight three seven"),
    ],
)
def test_the_end_of_a_long_number_names_her_and_the_whole_number_is_kept(
    number: str, said: str
) -> None:
    visit = visit_of(herd(number, "DE 09 876 54321"), sure(said), "pregnant")
    assert [exam.tag for exam in visit.exams] == [number]
    assert visit.asked is None
    assert "tag_not_on_list" not in rules(visit)


def test_an_end_that_two_animals_have_is_asked_about_and_the_answer_is_the_whole_number() -> None:
    before = visit_of(herd(*GERMAN), sure("cow four one two"))
    assert before.asked is not None
    words = [alternative.words for alternative in before.asked.alternatives]
    assert words == ["tag DE 01 234 56412", "tag DE 01 234 57412"]
    assert states(before.exam_in_hand) == [FindingState.QUERIED]
    assert "tag_not_on_list" not in rules(before)
    assert tags(herd(*GERMAN), sure("cow four one two"), "second one") == [GERMAN[2]]
    assert tags(herd(*GERMAN), sure("cow seven four one two")) == [GERMAN[2]]


def test_typed_words_are_asked_about_alike() -> None:
    assert visit_of(herd(*GERMAN), "cow four one two").asked is not None
    assert visit_of(herd(*GERMAN), "cow eight three seven").asked is None


def test_zeros_before_a_number_cannot_be_heard_so_both_animals_are_offered() -> None:
    both = herd("0837", "837", "412")
    for said in ("cow eight three seven", "cow oh eight three seven"):
        visit = visit_of(both, sure(said))
        assert visit.asked is not None
        assert {a.words for a in visit.asked.alternatives} == {"tag 0837", "tag 837"}
    assert tags(both, sure("cow eight three seven"), "first one", "open") == ["0837"]
    assert tags(both, sure("cow eight three seven"), "second one", "open") == ["837"]
    assert tags(herd("0837", "412"), sure("cow eight three seven")) == ["0837"]


def test_her_short_number_comes_before_the_end_of_another_s_long_one() -> None:
    beside = herd(
        KnownAnimal("837", national="DE 01 234 56111"),
        KnownAnimal("12", national="DE 01 234 56837"),
    )
    assert tags(beside, sure("cow eight three seven")) == ["837"]
    assert tags(beside, sure("cow six eight three seven")) == ["12"]
    assert tags(beside, sure("cow five six one one one")) == ["837"]


def test_three_digits_do_not_name_an_animal_that_has_a_short_number() -> None:
    beside = herd(KnownAnimal("12", national="DE 01 234 56837"), KnownAnimal("45"))
    visit = visit_of(beside, sure("cow eight three seven"))
    assert visit.asked is not None
    assert "not on the herd list" in visit.asked.why


def test_her_number_said_shorter_and_longer_is_one_animal() -> None:
    phrases = (
        herd(*GERMAN),
        sure("cow eight three seven"),
        "open",
        sure("cow five six eight thirty-seven"),
    )
    visit = visit_of(*phrases)
    assert [exam.tag for exam in visit.exams] == [GERMAN[0]]
    assert "two_tags_in_one_exam" not in rules(visit)


def test_she_is_the_same_animal_when_she_comes_again_by_another_end_of_her_number() -> None:
    visit = visit_of(
        herd(*GERMAN), "cow eight three seven", "open", "next cow seven four one two", "open",
        "next cow five six eight three seven", "open",
    )  # fmt: skip
    assert [exam.tag for exam in visit.exams] == [GERMAN[0], GERMAN[2], GERMAN[0]]
    assert "same_tag_twice" in rules(visit)


def test_two_hearings_of_one_animal_are_no_doubt_and_of_two_they_are() -> None:
    one = sure("cow eight three seven", "cow six eight three seven", apart_nats=1.0)
    assert visit_of(herd(*GERMAN), one).asked is None
    two = herd("DE 01 234 56837", "DE 01 234 56831")
    near = sure("cow eight three seven", "cow eight three one", apart_nats=2.0)
    visit = visit_of(two, near)
    assert visit.asked is not None
    assert "sounded nearly the same" in visit.asked.why


def test_an_end_that_nobody_has_offers_ends_that_are_like_it() -> None:
    visit = visit_of(herd(*GERMAN), sure("cow eight three eight"))
    assert visit.asked is not None
    assert [a.words for a in visit.asked.alternatives] == ["tag 838", "tag 837"]


def test_numbers_without_digits_and_short_ends_name_nobody() -> None:
    numbers = HerdNumbers((KnownAnimal("Clara"), KnownAnimal("DE 01 234 56837")))
    assert numbers.named("37") == ()
    assert numbers.named("0") == ()
    assert [known.tag for known in numbers.named("0123456837")] == ["DE 01 234 56837"]


@given(
    st.lists(st.text("0123456789", min_size=8, max_size=12), min_size=1, max_size=30, unique=True),
    st.data(),
)
def test_an_end_names_just_the_animals_whose_numbers_end_so(
    numbers: list[str], data: st.DataObject
) -> None:
    herd_numbers = HerdNumbers(KnownAnimal(f"DE {number}") for number in numbers)
    number = data.draw(st.sampled_from(numbers))
    end = number[-data.draw(st.integers(3, 5)) :]
    whole = [n for n in numbers if n.lstrip("0") == end.lstrip("0") != ""]
    expected = whole or [n for n in numbers if n.endswith(end)]
    assert {known.tag for known in herd_numbers.named(end)} == {f"DE {n}" for n in expected}
