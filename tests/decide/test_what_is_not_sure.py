"""What was not heard surely is asked about, and no value is taken or moved in silence."""

from __future__ import annotations

from dictation.visit.facts import HerdListed
from dictation.visit.parts import Fate, QueryState
from grammar.exam import FindingState, KnownAnimal
from grammar.findings import Ovary, Pregnancy
from grammar.wording import either
from tests.decide.spoken import Chatter, Unsure, standing, states, visit_of

COW = "cow eight three seven"
FORTY = Unsure("left ovary CL forty", ("left ovary CL fourteen",))


def sizes(*phrases: str | Unsure | Chatter) -> list[float | None]:
    exam = visit_of(*phrases).exam_in_hand
    assert exam is not None
    return [f.size_mm for f in exam.findings if isinstance(f, Ovary)]


def test_a_doubtful_finding_is_recorded_as_queried_with_its_alternatives() -> None:
    visit = visit_of(COW, FORTY)
    assert states(visit.exam_in_hand)[-1] is FindingState.QUERIED
    assert visit.asked is not None
    assert [a.words for a in visit.asked.alternatives] == [
        "left ovary corpus luteum 40 mm",
        "left ovary corpus luteum 14 mm",
    ]


def test_a_choice_takes_that_alternative() -> None:
    assert sizes(COW, FORTY, "second one") == [14]
    assert sizes(COW, FORTY, "first one") == [40]


def test_yes_does_not_answer_a_question_with_two_answers() -> None:
    visit = visit_of(COW, FORTY, "yes")
    assert visit.asked is not None
    assert states(visit.exam_in_hand)[-1] is FindingState.QUERIED


def test_no_withdraws_what_was_asked_about() -> None:
    visit = visit_of(COW, FORTY, "no")
    assert states(visit.exam_in_hand)[-1] is FindingState.WITHDRAWN
    assert visit.asked is None


def test_saying_an_alternative_again_is_the_answer() -> None:
    assert sizes(COW, FORTY, "left ovary CL fourteen") == [14]
    assert sizes(COW, FORTY, "left ovary CL forty") == [40]
    assert visit_of(COW, FORTY, "left ovary CL fourteen").open_queries == ()


def test_saying_something_else_leaves_the_question_open() -> None:
    visit = visit_of(COW, FORTY, "left ovary follicle fourteen")
    assert len(visit.open_queries) == 1


def test_scratch_that_takes_a_question_away_with_its_finding() -> None:
    visit = visit_of(COW, "open", FORTY, "scratch that")
    assert standing(visit.exam_in_hand) == ["cow eight three seven", "open"]
    assert [q.state for q in visit.queries] == [QueryState.LAPSED]


def test_scratching_an_answer_asks_again() -> None:
    visit = visit_of(COW, FORTY, "second one", "scratch that")
    assert visit.asked is not None
    assert states(visit.exam_in_hand)[1] is FindingState.QUERIED


def test_a_doubtful_scratch_that_is_asked_and_not_done() -> None:
    visit = visit_of(COW, "open", Unsure("scratch that"))
    assert standing(visit.exam_in_hand) == ["cow eight three seven", "open"]
    assert visit.asked is not None
    done = visit_of(COW, "open", Unsure("scratch that"), "scratch that")
    assert standing(done.exam_in_hand) == ["cow eight three seven"]


def test_a_doubtful_close_waits_for_its_answer() -> None:
    doubtful = Unsure("that is her done")
    waiting = visit_of(COW, "open", doubtful)
    assert waiting.in_hand == 1
    assert waiting.asked is not None
    assert visit_of(COW, "open", doubtful, "yes").in_hand is None
    assert visit_of(COW, "open", doubtful, "no").in_hand == 1
    later = visit_of(COW, "open", doubtful, "next cow four one", "yes")
    assert later.exam_in_hand is not None
    assert later.exam_in_hand.tag == "41"


def test_a_doubtful_close_between_animals_asks_nothing() -> None:
    visit = visit_of(COW, "open", "close", Unsure("that is her done"))
    assert visit.asked is None
    assert visit.in_hand is None


def test_what_follows_a_doubtful_next_waits_and_no_joins_the_animals_again() -> None:
    assert [e.closed for e in visit_of(COW, "open", Unsure("next")).exams] == [False]
    visit = visit_of(COW, "open", Unsure("next"), "twins")
    assert len(visit.exams) == 2
    joined = visit_of(COW, "open", Unsure("next"), "twins", "no")
    assert [e.tag for e in joined.exams] == ["837"]
    assert standing(joined.exam_in_hand) == ["cow eight three seven", "open", "twins"]


def test_a_doubtful_tag_keeps_the_findings_behind_it_together() -> None:
    misheard = Unsure("next cow four one two", ("next cow four one seven",))
    visit = visit_of(COW, "open", misheard, "pregnant", "second one")
    assert [e.tag for e in visit.exams] == ["837", "417"]
    pregnant = visit.exams[1]
    assert any(isinstance(f, Pregnancy) for f in pregnant.findings)


def test_a_sure_tag_settles_a_doubtful_one() -> None:
    visit = visit_of(Unsure("cow four one two"), "cow four one seven")
    assert [e.tag for e in visit.exams] == ["417"]
    assert visit.open_queries == ()


def test_a_value_no_cow_has_is_asked_about_however_surely_it_was_heard() -> None:
    visit = visit_of(COW, "left ovary CL ninety")
    assert states(visit.exam_in_hand)[-1] is FindingState.QUERIED
    assert visit.asked is not None
    assert states(visit_of(COW, "left ovary CL ninety", "yes").exam_in_hand)[-1] is (
        FindingState.ACCEPTED
    )


def test_unreadable_words_of_the_trade_are_asked_about_and_chatter_is_not() -> None:
    asked = visit_of(COW, Chatter("left ovary follicle corpus thingy twenty"))
    assert asked.phrases[-1].fate is Fate.ASKED
    assert len(asked.open_queries) == 1
    chat = visit_of(COW, Chatter("did you see the match on saturday"))
    assert chat.phrases[-1].fate is Fate.REFUSED
    assert chat.phrases[-1].text == "did you see the match on saturday"
    assert chat.open_queries == ()


def test_an_answer_that_was_not_clear_settles_nothing() -> None:
    visit = visit_of(COW, "left ovary CL ninety", Unsure("yes"))
    assert states(visit.exam_in_hand)[-1] is FindingState.QUERIED


def test_a_question_of_the_animal_before_is_left_for_the_recorder() -> None:
    visit = visit_of(COW, FORTY, "next cow four one two", "left ovary CL ninety", "yes")
    assert states(visit.exams[0])[-1] is FindingState.QUERIED
    assert states(visit.exams[1])[-1] is FindingState.ACCEPTED


def test_doubtful_words_between_animals_open_no_exam_until_they_are_meant() -> None:
    visit = visit_of(COW, "open", "close", Unsure("twins"))
    assert len(visit.exams) == 1
    assert visit.asked is not None
    answered = visit_of(COW, "open", "close", Unsure("twins"), "yes")
    assert standing(answered.exam_in_hand) == ["twins"]


def test_an_answer_is_never_offered_as_what_was_meant() -> None:
    visit = visit_of(COW, Unsure("open", ("that is wrong", "pregnant")))
    assert visit.asked is not None
    assert [a.words for a in visit.asked.alternatives] == ["open", "pregnant"]


def test_a_stutter_of_the_recogniser_is_no_other_value() -> None:
    visit = visit_of(COW, Unsure("open", ("open open", "open open open")))
    assert visit.asked is not None
    assert [a.words for a in visit.asked.alternatives] == ["open"]


def test_a_bare_number_that_is_no_plain_tag_opens_no_other_animal_but_is_asked_about() -> None:
    visit = visit_of(COW, "open", "one forty-five")
    assert [exam.tag for exam in visit.exams] == ["837"]
    assert visit.asked is not None
    assert "145" in visit.asked.question


def test_a_bare_number_after_findings_is_no_tag_in_silence() -> None:
    visit = visit_of("left ovary CL twenty", "oh twenty four")
    assert [exam.tag for exam in visit.exams] == [None]
    assert visit.asked is not None


def test_a_bare_number_is_the_tag_where_one_is_awaited() -> None:
    assert [exam.tag for exam in visit_of("next", "eight thirty-seven", "open").exams] == ["837"]


def test_a_doubtful_tag_that_no_listed_animal_has_opens_no_exam() -> None:
    listed = HerdListed("digest", "list.csv", (KnownAnimal("837"), KnownAnimal("838")))
    talk = Unsure("animal nine nine nine")
    visit = visit_of(listed, COW, "open", talk)
    assert [exam.tag for exam in visit.exams] == ["837"]
    assert visit.asked is not None
    on_the_list = visit_of(listed, COW, "open", Unsure("cow eight three eight"), "yes")
    assert [exam.tag for exam in on_the_list.exams] == ["837", "838"]


def test_alternatives_of_several_values_stand_apart_in_a_question() -> None:
    assert either(("forty",)) == "Forty?"
    assert either(("forty", "fourteen")) == "Forty or fourteen?"
    assert either(("twins, clear", "cull")) == "Twins, clear; or cull?"
    assert either(("twins, clear", "cull", "open")) == "Twins, clear; cull; or open?"
