"""Questions go out with their answers and come back, and an answer does the same there."""

from __future__ import annotations

import random
import tempfile
from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from dictation.decide import decide
from dictation.errors import BadInputError
from dictation.intake.from_files import take_in
from dictation.records.csv_reading import read_csv_visit
from dictation.records.questions_file import QUESTIONS_NAME, asked_of, questions_csv
from dictation.records.visit_files import EXAMS_NAME, write_records
from dictation.visit.apply import apply, fold
from dictation.visit.facts import VisitOpened
from dictation.visit.inputs import By, Choice, ExamsMerged, QueryAnswered
from dictation.visit.journal import Journal
from dictation.visit.parts import Query
from dictation.visit.state import Visit
from grammar.sample import sample_phrase
from tests.decide.spoken import ON, Chatter, Phrase, Unsure
from tests.records.visits import HERD, LISTED, farm_visit, flags_of, heard, write_visit


def taken_in(folder: Path, visit: Visit, told: bool = True) -> Visit:
    """The visit written, read and taken into another journal, its questions told or in words."""
    out = folder / "out"
    out.mkdir()
    write_records(out, visit, flags_of(visit))
    read = read_csv_visit(out, ON, HERD)
    take_in(folder / "in", read.exams, VisitOpened(ON), LISTED, "out", read.asked if told else {})
    with Journal.read(folder / "in") as journal:
        return fold(journal.acts())


def answered(visit: Visit, query: Query, choice: int | None) -> Visit:
    """The visit once a person has taken a choice, or none of them."""
    how = Choice.NONE_OF_THEM if choice is None else Choice.TAKE
    for fact in decide(visit, QueryAnswered(query.id, how, choice), By("Ash")):
        visit = apply(visit, fact)
    return visit


def standing(visit: Visit) -> list[tuple[int, list[str]]]:
    """What stands of each exam, whatever the order."""
    return [(exam.number, sorted(map(repr, exam.findings))) for exam in visit.exams]


def unsure(draw: random.Random) -> Phrase:
    first, second = sample_phrase(draw), sample_phrase(draw)
    return draw.choice((first, Unsure(first, (second,)), Unsure(first, (first, second))))


@given(st.integers(0, 10**9))
@settings(max_examples=25, deadline=None)
def test_any_answer_does_the_same_after_the_way_through_the_files(seed: int) -> None:
    draw = random.Random(seed)
    visit = heard("cow eight three seven", *(unsure(draw) for _ in range(4)), "next cow four")
    told = [q for q in visit.open_queries if asked_of(visit, q) is not None]
    assume(told)
    with tempfile.TemporaryDirectory() as name:
        again = taken_in(Path(name), visit)
    assert [q.question for q in again.open_queries] == [
        q.question for exam in visit.exams for q in visit.open_queries if q.exam == exam.number
    ]
    query = draw.choice(told)
    same = [q for q in again.open_queries if (q.exam, q.why) == (query.exam, query.why)]
    twin = next(q for q in same if q.question == query.question)
    assert [a.words for a in twin.alternatives] == [a.words for a in query.alternatives]
    for choice in (None, *range(1, len(query.alternatives) + 1)):
        assert standing(answered(again, twin, choice)) == standing(answered(visit, query, choice))


def test_a_question_comes_back_with_its_choices(tmp_path: Path) -> None:
    visit = farm_visit()
    (query,) = [q for q in visit.open_queries if q.alternatives]
    again = taken_in(tmp_path, visit)
    (twin,) = [q for q in again.open_queries if q.alternatives]
    assert (twin.question, twin.why) == (query.question, query.why)
    assert [a.words for a in twin.alternatives] == [a.words for a in query.alternatives]
    assert questions_csv(again) == questions_csv(visit)
    taken = answered(again, twin, 2)
    sizes = [r.finding.size_mm for r in taken.exams[-1].standing if hasattr(r.finding, "size_mm")]
    assert sizes == [14.0]


def test_a_choice_that_opens_another_animal_goes_in_words_only(tmp_path: Path) -> None:
    visit = heard("cow five", "open", Unsure("next cow six", ("next cow sixteen",)), "open")
    (query,) = visit.open_queries
    assert query.alternatives
    again = taken_in(tmp_path, visit)
    written = (tmp_path / "out" / QUESTIONS_NAME).read_text(encoding="utf-8")
    assert all(each.words in written for each in query.alternatives)
    (twin,) = again.open_queries
    assert (twin.question, twin.alternatives) == (query.question, ())


@pytest.mark.parametrize("told", [True, False])
def test_none_of_them_settles_one_question_of_a_file_and_no_other(
    tmp_path: Path, told: bool
) -> None:
    mumbled = Chatter("mumble the crown rump"), Chatter("mumble the left ovary follicle")
    visit = heard("cow five", *mumbled, "next cow six", mumbled[0], "next cow seven", "open")
    assert len(visit.open_queries) == 3
    again = taken_in(tmp_path, visit, told)
    first, *others = again.open_queries
    assert list(answered(again, first, None).open_queries) == others


def test_exams_keep_their_numbers_and_the_next_has_one_of_its_own(tmp_path: Path) -> None:
    said = ("cow five", "open", "next cow six", "open", "next cow seven", "open")
    visit = heard(*said, ExamsMerged(2, 1))
    again = taken_in(tmp_path, visit)
    assert [e.number for e in again.exams] == [e.number for e in visit.exams] == [1, 3]
    write_visit(tmp_path / "in", "next cow nine", "open")
    with Journal.read(tmp_path / "in") as journal:
        assert [e.number for e in fold(journal.acts()).exams] == [1, 3, 4]


def test_without_the_file_only_the_words_come_back(tmp_path: Path) -> None:
    visit = farm_visit()
    write_records(tmp_path, visit, flags_of(visit))
    (tmp_path / QUESTIONS_NAME).unlink()
    read = read_csv_visit(tmp_path, ON, HERD)
    assert not read.asked
    assert [e.open_queries for e in read.exams] == [e.open_queries for e in visit.exams]


def test_questions_with_a_semicolon_and_hostile_words_stay_apart(tmp_path: Path) -> None:
    visit = heard("cow five", Chatter("=1+1; 'or' \"else\""), Chatter("; "))
    again = taken_in(tmp_path, visit)
    assert [q.question for q in again.open_queries] == [q.question for q in visit.open_queries]


def test_files_that_do_not_belong_together_are_refused(tmp_path: Path) -> None:
    visit = farm_visit()
    write_records(tmp_path, visit, flags_of(visit))
    path = tmp_path / EXAMS_NAME
    (question,) = visit.exams[-1].open_queries
    path.write_text(path.read_text(encoding="utf-8").replace(question, ""), encoding="utf-8")
    with pytest.raises(BadInputError, match=r"exam 8 has other questions there than in exams\.csv"):
        read_csv_visit(tmp_path, ON)


def test_every_mistake_is_named_by_line_and_column(tmp_path: Path) -> None:
    visit = farm_visit()
    write_records(tmp_path, visit, flags_of(visit))
    path = tmp_path / QUESTIONS_NAME
    lines = path.read_text(encoding="utf-8").split("\n")
    assert len(lines) == 5
    lines[1] = lines[1].replace("corpus_luteum", "corpus")
    lines[2] = lines[2].replace("recorded,2", "recorded,9")
    lines[3] = lines[3].replace("withdrawn", "gone")
    path.write_text("\n".join(lines), encoding="utf-8")
    with pytest.raises(BadInputError) as caught:
        read_csv_visit(tmp_path, ON)
    told = str(caught.value)
    for part in (
        "line 2, column detail: 'corpus'",
        "line 3, column row: 9 is no row of this exam",
        "line 4, column then: 'gone'",
    ):
        assert part in told
