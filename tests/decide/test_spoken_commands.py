"""What is said to the tool, and what it does and does not do to what was recorded."""

from __future__ import annotations

from dictation.visit.parts import Fate
from grammar.exam import FindingState
from grammar.findings import Note, Ovary, Pregnancy, Seen, Side, SweepStructure
from tests.decide.spoken import ON, Chatter, standing, states, visit_of

COW = "cow eight three seven"


def test_findings_go_to_the_animal_in_hand() -> None:
    visit = visit_of(COW, "left ovary CL twenty-two, follicle nine", "pregnant forty-five days")
    exam = visit.exam_in_hand
    assert exam is not None
    assert exam.tag == "837"
    assert exam.on_date == ON
    assert [type(f).__name__ for f in exam.findings] == ["Animal", "Ovary", "Ovary", "Pregnancy"]


def test_next_animal_closes_the_exam_and_opens_the_next_with_its_tag() -> None:
    visit = visit_of(COW, "open", "next cow four one two", "pregnant")
    assert [(e.tag, e.closed) for e in visit.exams] == [("837", True), ("412", False)]
    assert standing(visit.exams[0]) == ["cow eight three seven", "open"]


def test_scratch_that_takes_back_the_whole_last_breath_and_only_that() -> None:
    visit = visit_of(COW, "open", "left ovary CL twenty-two, follicle nine", "scratch that")
    assert standing(visit.exam_in_hand) == ["cow eight three seven", "open"]
    assert states(visit.exam_in_hand)[-2:] == [FindingState.WITHDRAWN] * 2


def test_a_second_scratch_that_takes_the_breath_before() -> None:
    visit = visit_of(COW, "open", "left ovary CL twenty-two", "scratch that", "scratch that")
    assert standing(visit.exam_in_hand) == ["cow eight three seven"]


def test_scratch_that_passes_over_chatter() -> None:
    visit = visit_of(COW, "open", Chatter("did you see the match"), "scratch that")
    assert standing(visit.exam_in_hand) == ["cow eight three seven"]


def test_scratch_that_does_not_reach_into_the_animal_before_unasked() -> None:
    visit = visit_of(COW, "open", "next", "scratch that")
    assert standing(visit.exams[0]) == ["cow eight three seven", "open"]
    assert visit.asked is not None
    assert "837" in visit.asked.question
    after = visit_of(COW, "open", "next", "scratch that", "yes")
    assert standing(after.exams[0]) == ["cow eight three seven"]


def test_scratch_that_undoes_a_misheard_tag_and_the_next_tag_takes_its_place() -> None:
    visit = visit_of(COW, "open", "next cow four one two", "scratch that", "cow four one seven")
    assert [e.tag for e in visit.exams] == ["837", "417"]


def test_a_tag_that_opened_an_exam_by_itself_gives_the_animal_back_when_taken_back() -> None:
    visit = visit_of(COW, "open", "cow four one two", "scratch that", "twins")
    assert [e.tag for e in visit.exams] == ["837"]
    assert standing(visit.exam_in_hand) == ["cow eight three seven", "open", "twins"]


def test_scratching_a_change_gives_the_first_value_back_and_asks_about_it() -> None:
    phrases = (COW, "left ovary CL twenty-two", "make that twenty-four", "scratch that")
    visit = visit_of(*phrases)
    exam = visit.exam_in_hand
    assert exam is not None
    assert [f.size_mm for f in exam.findings if isinstance(f, Ovary)] == [22]
    assert states(exam)[-1] is FindingState.QUERIED
    assert visit.asked is not None
    assert visit.asked.question == "Left ovary corpus luteum 22 mm again?"
    assert states(visit_of(*phrases, "yes").exam_in_hand)[-1] is FindingState.ACCEPTED
    assert states(visit_of(*phrases, "no").exam_in_hand)[-1] is FindingState.WITHDRAWN
    assert states(visit_of(*phrases, "scratch that").exam_in_hand)[-1] is FindingState.WITHDRAWN


def test_the_same_tag_again_changes_nothing() -> None:
    visit = visit_of(COW, "open", COW)
    assert len(visit.exams) == 1
    assert standing(visit.exam_in_hand) == ["cow eight three seven", "open"]


def test_a_tag_after_findings_without_one_is_theirs() -> None:
    visit = visit_of("open", COW)
    assert [e.tag for e in visit.exams] == ["837"]


def test_another_tag_after_findings_is_the_next_animal() -> None:
    visit = visit_of(COW, "open", "cow four one two", "pregnant")
    assert [e.tag for e in visit.exams] == ["837", "412"]
    assert standing(visit.exams[0]) == ["cow eight three seven", "open"]


def test_another_tag_before_any_finding_is_asked_about() -> None:
    visit = visit_of(COW, "cow four one two", "open")
    assert [e.tag for e in visit.exams] == ["412"]
    assert states(visit.exam_in_hand)[1] is FindingState.QUERIED
    assert visit.asked is not None
    assert "412" in visit.asked.question
    assert [e.tag for e in visit_of(COW, "cow four one two", "yes").exams] == ["412"]
    assert [e.tag for e in visit_of(COW, "cow four one two", "no").exams] == ["837"]


def test_make_that_replaces_the_last_number() -> None:
    visit = visit_of(COW, "left ovary CL twenty-two, follicle nine", "make that twelve")
    exam = visit.exam_in_hand
    assert exam is not None
    assert [f.size_mm for f in exam.findings if isinstance(f, Ovary)] == [22, 12]
    assert states(exam)[-1] is FindingState.CORRECTED
    assert "make that twelve" in exam.recorded[-1].heard


def test_make_that_asks_where_two_numbers_can_be_meant() -> None:
    visit = visit_of(COW, "left ovary CL twenty by eighteen", "make that nineteen")
    exam = visit.exam_in_hand
    assert exam is not None
    assert [(f.size_mm, f.second_size_mm) for f in exam.findings if isinstance(f, Ovary)] == [
        (20, 18)
    ]
    assert visit.asked is not None
    assert len(visit.asked.alternatives) == 2


def test_make_that_asks_where_the_unit_may_be_another() -> None:
    visit = visit_of(COW, "pregnant six weeks", "make that eight")
    exam = visit.exam_in_hand
    assert exam is not None
    assert [f.age_days for f in exam.findings if isinstance(f, Pregnancy)] == [42]
    assert visit.asked is not None


def test_no_right_changes_the_side_of_the_one_finding_that_has_it() -> None:
    visit = visit_of(COW, "left ovary CL twenty-two", "no, right")
    exam = visit.exam_in_hand
    assert exam is not None
    assert [f.side for f in exam.findings if isinstance(f, Ovary)] == [Side.RIGHT]
    seen = visit_of(COW, "left ovary normal", "no, right").exam_in_hand
    assert seen is not None
    assert [f.structure for f in seen.findings if isinstance(f, Seen)] == [
        SweepStructure.RIGHT_OVARY
    ]


def test_no_right_asks_where_findings_share_the_side() -> None:
    phrases = (COW, "left ovary CL twenty-two, follicle nine", "no, right")
    exam = visit_of(*phrases).exam_in_hand
    assert exam is not None
    assert [f.side for f in exam.findings if isinstance(f, Ovary)] == [Side.LEFT, Side.LEFT]
    both = visit_of(*phrases, "first one").exam_in_hand
    assert both is not None
    assert [f.side for f in both.findings if isinstance(f, Ovary)] == [Side.RIGHT, Side.RIGHT]
    last = visit_of(*phrases, "second one").exam_in_hand
    assert last is not None
    assert [f.side for f in last.findings if isinstance(f, Ovary)] == [Side.LEFT, Side.RIGHT]


def test_a_correction_takes_the_place_of_the_finding_of_its_kind_and_side() -> None:
    visit = visit_of(
        COW,
        "left ovary CL twenty-two, follicle nine",
        "right ovary CL thirty",
        "correction, left ovary CL twenty-four",
    )
    exam = visit.exam_in_hand
    assert exam is not None
    ovaries = [f for f in exam.findings if isinstance(f, Ovary)]
    assert [(f.side, f.size_mm) for f in ovaries] == [
        (Side.LEFT, 24),
        (Side.LEFT, 9),
        (Side.RIGHT, 30),
    ]


def test_a_correction_that_fits_nothing_is_asked_and_replaces_nothing() -> None:
    visit = visit_of(COW, "right ovary CL thirty", "correction, left ovary CL twenty-four")
    exam = visit.exam_in_hand
    assert exam is not None
    assert states(exam)[1:] == [FindingState.ACCEPTED, FindingState.QUERIED]
    assert visit.asked is not None


def test_while_paused_speech_is_kept_and_not_recorded() -> None:
    visit = visit_of(COW, "pause", "left ovary CL twenty-two", "resume", "open")
    assert standing(visit.exam_in_hand) == ["cow eight three seven", "open"]
    assert visit.phrases[2].fate is Fate.PAUSED
    assert visit.phrases[2].text == "left ovary CL twenty-two"


def test_the_words_after_note_are_kept_as_a_note() -> None:
    exam = visit_of(COW, "take a note", Chatter("kicks at the gate"), "open").exam_in_hand
    assert exam is not None
    assert Note("kicks at the gate") in exam.findings


def test_close_leaves_no_animal_in_hand_and_close_visit_ends_it() -> None:
    assert visit_of(COW, "open", "close").in_hand is None
    closed = visit_of(COW, "open", "close visit")
    assert closed.closed
    assert all(exam.closed for exam in closed.exams)


def test_next_said_twice_opens_one_exam() -> None:
    visit = visit_of(COW, "open", "next", "next", "cow four one two")
    assert [e.tag for e in visit.exams] == ["837", "412"]


def test_read_back_says_what_is_recorded() -> None:
    visit = visit_of(COW, "left ovary CL twenty-two", "read back")
    assert "corpus luteum 22 mm" in visit.reply
