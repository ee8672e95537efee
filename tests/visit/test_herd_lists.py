"""A herd list is kept in the visit: it can be read for ever without the file it came from."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

from dictation.decide.record import Record
from dictation.visit.apply import apply, fold
from dictation.visit.facts import ExamNamed, HerdListed, VisitOpened
from dictation.visit.inputs import Noted, TagChanged
from dictation.visit.journal import Journal
from dictation.visit.parts import Name
from dictation.visit.state import Visit
from grammar.exam import KnownAnimal, Service
from tests.decide.spoken import ON, given_of, visit_of

CLARA = KnownAnimal(
    "837",
    "276000312312345",
    "Holstein",
    "cow",
    3,
    date(2026, 7, 12),
    (Service(date(2026, 10, 1), date(2026, 10, 20), sire="Rowan"),),
)
FARM = HerdListed("d" * 64, "farm.csv", (CLARA, KnownAnimal("412")))
LATER = HerdListed("e" * 64, "later.csv", (replace(CLARA, parity=4), KnownAnimal("900")))


def known(visit: Visit) -> list[KnownAnimal | None]:
    return [exam.known for exam in visit.exams]


def test_it_is_read_back_whole_without_its_file(tmp_path: Path) -> None:
    with Record(Journal.write(tmp_path)) as record:
        record.take(Noted(VisitOpened(ON)))
        record.take(Noted(FARM))
        record.take(given_of(record.visit, "cow eight three seven"))
        then = record.visit
    with Journal.read(tmp_path) as journal:
        visit = fold(journal.acts())
    assert visit == then
    assert visit.herd == FARM.animals
    assert known(visit) == [CLARA]


def test_the_same_list_again_adds_no_entry(tmp_path: Path) -> None:
    with Record(Journal.write(tmp_path)) as record:
        record.take(Noted(VisitOpened(ON)))
        record.take(Noted(FARM))
        assert record.take(Noted(replace(FARM, source="copy of farm.csv"))) == ()
        assert record.visit.last_seq == 2


def test_a_list_that_comes_late_is_known_of_those_examined_before_it() -> None:
    visit = visit_of("cow eight three seven", "next cow nine hundred", FARM)
    assert known(visit) == [CLARA, None]
    assert all(exam.herd_list_given for exam in visit.exams)


def test_another_list_takes_its_place() -> None:
    said = (FARM, "cow eight three seven", "next cow four one two", "next cow nine hundred")
    visit = visit_of(*said, LATER)
    assert known(visit) == [LATER.animals[0], None, LATER.animals[1]]
    assert [exam.tag for exam in visit.exams] == ["837", "412", "900"]
    names = [f for f in visit.acts[visit.last_seq].facts if isinstance(f, ExamNamed)]
    assert names == [ExamNamed(3, Name("900", None), Name("900", "900"))]


def test_taken_up_again_by_its_fact_it_changes_nothing() -> None:
    visit = visit_of(FARM, "cow eight three seven", LATER)
    assert apply(visit, LATER) == visit


def test_of_two_animals_with_one_tag_the_first_is_meant() -> None:
    twice = replace(FARM, animals=(CLARA, replace(CLARA, parity=7)))
    assert known(visit_of(twice, "cow eight three seven")) == [CLARA]


def test_a_tag_put_right_is_another_animal_of_the_list() -> None:
    visit = visit_of(FARM, "cow four one two", TagChanged(1, "837"))
    assert known(visit) == [CLARA]
    assert known(visit_of(FARM, "cow eight three seven", TagChanged(1, "838"))) == [None]
