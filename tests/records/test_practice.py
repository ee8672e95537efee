"""Many visits: each folded once, and shares whose counting can be followed by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from dictation.errors import HornsweepError
from dictation.records.practice.gathering import (
    POOL_FROM,
    FarmVisit,
    Gathered,
    gather,
    visit_folders,
)
from dictation.records.practice.shares import Share
from dictation.records.practice.summary import Summary, summarise_practice
from dictation.records.practice.visit_lines import (
    LINES_NAME,
    ExamLine,
    VisitLines,
    line_of,
    written,
)
from dictation.visit.apply import fold
from dictation.visit.journal import JOURNAL_NAME, Journal
from dictation.visit.state import Visit
from grammar.exam import KnownAnimal, Service
from tests.decide.spoken import ON, Chatter, Phrase, Unsure
from tests.records.visits import farm_visit, heard, write_visit


def write(folder: Path, *phrases: Phrase, on: date = ON, farm: str = "Larkmoor") -> Path:
    """A journal as a session leaves it."""
    write_visit(folder, *phrases, farm=farm, on=on)
    return folder


def gathered(root: Path, afresh: bool = False) -> Gathered:
    return gather(visit_folders((root,)), afresh=afresh)


def exams(found: Gathered) -> int:
    return sum(visit.lines.exams for visit in found.visits)


def lines_of(visit: Visit) -> list[ExamLine]:
    asked = {query.exam for query in visit.all_queries.values()}
    return [line_of(exam, exam.number in asked) for exam in visit.exams]


def line(  # noqa: PLR0913, PLR0917 - one a column that matters here
    tag: str | None,
    status: str | None,
    on: date = ON,
    served_ago: int | None = 45,
    number: int | None = 1,
    sire: str | None = None,
    age: float | None = None,
    measured: float | None = None,
) -> ExamLine:
    service_on = None if served_ago is None else on - timedelta(days=served_ago)
    stated = age if measured is not None else None
    return ExamLine(
        on, 1, tag, status, service_on, number, sire, None, age, stated, measured,
        None if measured is None else 4.0, 3, False, False,
    )  # fmt: skip


def summary(*lines: ExamLine) -> Summary:
    visit = VisitLines("farm", len(lines), b"".join(map(written, lines)))
    return summarise_practice((FarmVisit(Path("visit"), "farm", visit),))


def shares(groups: tuple[object, ...]) -> dict[str, tuple[int, int]]:
    return {each.group: (each.share.hits, each.share.total) for each in groups}  # type: ignore[attr-defined]


# Wilson intervals as printed in Newcombe 1998, Stat Med 17:857-872, table I (method 3).
@pytest.mark.parametrize(
    ("hits", "total", "low", "high"),
    [
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0000, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_an_interval_is_as_published(hits: int, total: int, low: float, high: float) -> None:
    interval = Share(hits, total).interval
    assert interval is not None
    assert interval == pytest.approx((low, high), abs=5e-5)


def test_of_nothing_there_is_no_share() -> None:
    assert (Share(0, 0).value, Share(0, 0).interval) == (None, None)


def test_a_service_counts_once_by_its_first_clear_exam() -> None:
    found = summary(
        line("1", "pregnant", age=45.0),
        line("1", "open", ON + timedelta(days=30), served_ago=75),
        line("2", "uncertain"),
        line("2", "open", ON + timedelta(days=14), served_ago=59),
        line("3", "open"),
        line("3", "pregnant", ON + timedelta(days=60), served_ago=40, number=2, age=40.0),
        line(None, "pregnant"),
        line("4", "pregnant", served_ago=None, number=None),
    )
    assert (found.in_calf.hits, found.in_calf.total) == (2, 4)
    assert shares(found.by_service) == {"1": (1, 3), "2": (1, 1)}


def test_late_services_are_counted_together_and_in_order() -> None:
    lines = [line(str(n), "open", number=n) for n in (6, 1, 4, 2)]
    assert list(shares(summary(*lines).by_service)) == ["1", "2", "4 or later"]
    assert shares(summary(*lines).by_service)["4 or later"] == (0, 2)


def test_sires_come_by_how_many_services_they_have() -> None:
    lines = [line("1", "pregnant", sire="Alder")]
    lines += [line(str(n), "open", sire="Rowan") for n in (2, 3)]
    assert list(shares(summary(*lines).by_sire).items()) == [("Rowan", (0, 2)), ("Alder", (1, 1))]


def test_a_loss_is_a_pregnancy_that_is_gone_at_the_next_look() -> None:
    later = ON + timedelta(days=30)
    found = summary(
        line("1", "pregnant", age=35.0),
        line("1", "open", later),
        line("2", "pregnant", age=40.0),
        line("2", "lost", later),
        line("3", "pregnant", age=50.0),
        line("3", "pregnant", later, age=80.0),
        # Never looked at again; looked at after she must have calved; said to be uncertain between.
        line("4", "pregnant", age=35.0),
        line("5", "pregnant", age=35.0),
        line("5", "open", ON + timedelta(days=256)),
        line("6", "pregnant", age=70.0),
        line("6", "uncertain", ON + timedelta(days=10)),
        line("6", "open", later),
    )
    assert shares(found.losses) == {
        "all": (3, 4),
        "0 to 42 days": (2, 2),
        "43 to 60 days": (0, 1),
        "61 to 120 days": (1, 1),
    }


def test_stated_and_measured_ages_are_compared_by_their_difference() -> None:
    ages = ((45.0, 44.0), (40.0, 42.0), (50.0, 40.0))
    lines = [line(str(n), "pregnant", age=s, measured=m) for n, (s, m) in enumerate(ages)]
    both = summary(*lines).agreement
    assert both is not None
    assert both.pairs == 3
    assert both.mean_days == pytest.approx(3.0)
    assert both.sd_days == pytest.approx(6.245, abs=1e-3)
    assert (both.within.hits, both.within.total) == (2, 3)
    assert summary(lines[0]).agreement is None


def test_a_line_says_which_service_a_result_is_about() -> None:
    cow = KnownAnimal(
        "5",
        calved_on=ON - timedelta(days=100),
        services=(
            Service(ON - timedelta(days=300), sire="before calving"),
            Service(ON - timedelta(days=60), sire="first"),
            Service(ON - timedelta(days=40), sire="second", inseminator="Ash"),
            Service(ON - timedelta(days=10), sire="too late to see"),
        ),
    )

    def of(*phrases: str) -> ExamLine:
        visit = heard("cow five", *phrases)
        exams = tuple(replace(exam, known=cow) for exam in visit.exams)
        return lines_of(replace(visit, exams=exams))[0]

    assert (of("open").service_number, of("open").sire) == (2, "second")
    assert of("open").inseminator == "Ash"
    assert of("pregnant sixty days").sire == "first"
    assert of("pregnant forty days").service_number == 2
    assert of("uncertain").service_on is None


def test_a_doubt_is_counted_and_its_value_is_not() -> None:
    visit = heard("cow five", Unsure("pregnant forty days", ("pregnant fifty days",)))
    (of_it,) = lines_of(visit)
    assert (of_it.status, of_it.asked, of_it.unsettled) == (None, True, True)


def test_visits_are_found_at_any_depth_and_each_once(tmp_path: Path) -> None:
    first = write(tmp_path / "2025" / "a", "cow five", "open")
    second = write(tmp_path / "b", "cow five", "open")
    assert set(visit_folders((tmp_path, tmp_path / "2025", first))) == {
        first.resolve(),
        second.resolve(),
    }


def test_what_was_folded_is_kept_until_its_journal_grows(tmp_path: Path) -> None:
    folder = write(tmp_path / "a", "cow five", "open")
    write(tmp_path / "b", "cow six", "open")
    assert gathered(tmp_path).folded == 2
    again = gathered(tmp_path)
    assert (again.kept, again.folded, exams(again)) == (2, 0, 2)
    write_visit(folder, "next cow nine")
    grown = gathered(tmp_path)
    assert (grown.kept, grown.folded, exams(grown)) == (1, 1, 3)
    assert grown.visits == gathered(tmp_path, afresh=True).visits


def test_a_visit_without_an_exam_is_not_folded_twice(tmp_path: Path) -> None:
    write(tmp_path / "a")
    assert exams(gathered(tmp_path)) == 0
    assert gathered(tmp_path).folded == 0


def test_what_is_summed_up_afresh_leaves_nothing_behind(tmp_path: Path) -> None:
    folder = write(tmp_path / "a", "cow five", "open")
    assert gathered(tmp_path, afresh=True).folded == 1
    assert not (folder / LINES_NAME).exists()


def test_a_damaged_journal_is_left_out_by_name(tmp_path: Path) -> None:
    write(tmp_path / "a", "cow five", "open")
    (tmp_path / "b").mkdir()
    (tmp_path / "b" / JOURNAL_NAME).write_bytes(b"no database" * 100)
    found = gathered(tmp_path)
    assert (len(found.visits), exams(found)) == (1, 1)
    assert len(found.left_out) == 1
    assert str(tmp_path / "b") in found.left_out[0]


def test_several_processes_gather_what_one_does(tmp_path: Path) -> None:
    for number in range(POOL_FROM):
        day = ON + timedelta(days=number)
        write(tmp_path / f"v{number:02}", "cow five", "open", "next cow six", "pregnant", on=day)
    found = gathered(tmp_path, afresh=True)
    assert found.folded == POOL_FROM
    alone = [gather((folder,), afresh=True).visits for folder in visit_folders((tmp_path,))]
    assert found.visits == tuple(visit for (visit,) in alone)


def test_hostile_names_are_only_names(tmp_path: Path) -> None:
    hostile = "'; DROP TABLE event; -- \x00\x1b[31m"
    write(tmp_path / "a", "cow five", "take a note", Chatter(hostile), "open", farm=hostile)
    found = gathered(tmp_path).visits
    assert [visit.farm for visit in found] == [hostile]
    assert summarise_practice(found).animals == 1


def test_the_exams_of_the_farm_visit_are_all_there() -> None:
    lines = lines_of(farm_visit())
    assert [each.status for each in lines] == [
        "pregnant", "open", "pregnant", "pregnant", None, "open", "lost", "uncertain",
    ]  # fmt: skip


def test_a_folder_that_is_no_visit_has_no_state(tmp_path: Path) -> None:
    from dictation.visit.journal_state import journal_state

    with pytest.raises(HornsweepError, match="holds no visit"):
        journal_state(tmp_path)


def test_the_state_of_a_journal_is_that_of_its_events(tmp_path: Path) -> None:
    from dictation.visit.journal_state import journal_state

    folder = write(tmp_path / "a", "cow five", "open")
    with Journal.read(folder) as journal:
        acts = list(journal.acts())
    state = journal_state(folder)
    assert (state.opened_at, state.changed_at) == (acts[0].at, acts[-1].at)
    assert state.last_seq == fold(acts).last_seq
