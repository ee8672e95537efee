"""A herd list is taken whole, or every mistake in it is named by its place."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from dictation.errors import BadInputError
from dictation.records.herd.sheet import MISTAKES_SHOWN
from dictation.records.herd_list import read_herd_list
from grammar.exam import Service


def written(folder: Path, text: str, encoding: str = "utf-8") -> Path:
    path = folder / "herd.csv"
    path.write_bytes(text.encode(encoding))
    return path


def test_an_animal_comes_with_its_services_and_dates(tmp_path: Path) -> None:
    herd = read_herd_list(
        written(
            tmp_path,
            "tag,electronic_id,breed,class,parity,calved_on,service_1,service_2\r\n"
            "0837,982 000123,Holstein,cow,3,2026-07-12,2026-10-04,2026-09-12\r\n",
        )
    )
    (animal,) = herd.animals
    assert animal.tag == "0837"
    assert animal.parity == 3
    assert animal.calved_on == date(2026, 7, 12)
    assert [s.first_day for s in animal.services] == [date(2026, 9, 12), date(2026, 10, 4)]


def test_services_may_stand_in_one_column_and_a_bull_has_a_period(tmp_path: Path) -> None:
    herd = read_herd_list(
        written(
            tmp_path,
            "\ufefftag,services,natural_from,natural_to,sire\n"
            "1,2026-09-01;2026-09-22,,,Rowan\n2,,2026-08-20,2026-10-20,\n\n",
        )
    )
    assert len(herd.animals[0].services) == 2
    assert herd.animals[0].services[0].sire == "Rowan"
    assert herd.animals[1].services == (Service(date(2026, 8, 20), date(2026, 10, 20)),)


def test_a_bull_who_was_not_taken_out_is_still_there(tmp_path: Path) -> None:
    (animal,) = read_herd_list(written(tmp_path, "tag,natural_from\n1,2026-08-20\n")).animals
    assert animal.services == (Service(date(2026, 8, 20), natural=True),)
    assert animal.services[0].until(date(2026, 11, 18)) == date(2026, 11, 18)


def test_the_breed_of_the_bull_stands_for_one_service_or_for_all(tmp_path: Path) -> None:
    one, all_of_them = read_herd_list(
        written(
            tmp_path,
            "tag,service_1,service_2,sire_breed_2,sire_breed\n"
            "1,2026-09-01,2026-09-22,LIM,\n2,2026-09-01,2026-09-22,,Angus\n",
        )
    ).animals
    assert [s.sire_breed for s in one.services] == [None, "LIM"]
    assert [s.sire_breed for s in all_of_them.services] == ["Angus", "Angus"]


def test_what_is_empty_is_unknown(tmp_path: Path) -> None:
    (animal,) = read_herd_list(written(tmp_path, "tag,breed,parity,calved_on\n5,,,\n")).animals
    assert (animal.breed, animal.parity, animal.calved_on, animal.services) == (
        None,
        None,
        None,
        (),
    )


def test_every_mistake_is_named_by_line_and_column_at_once(tmp_path: Path) -> None:
    path = written(
        tmp_path,
        "tag,parity,calved_on\n1,two,2026-07-12\n,3,12.07.2026\n1,3,\n4,3\n",
    )
    with pytest.raises(BadInputError) as caught:
        read_herd_list(path)
    told = str(caught.value)
    assert told.startswith(str(path))
    for part in (
        "line 2, column parity: 'two'",
        "line 3, column tag: is empty",
        "line 3, column calved_on: '12.07.2026'",
        "line 4, column tag: 1 is on line 2 too",
        "line 5, column 3: 2 cells where the header has 3",
    ):
        assert part in told


def test_mistakes_past_the_first_few_are_counted(tmp_path: Path) -> None:
    lines = "".join(f"{n},x\n" for n in range(MISTAKES_SHOWN + 7))
    with pytest.raises(BadInputError, match="and 7 more"):
        read_herd_list(written(tmp_path, "tag,parity\n" + lines))


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "empty"),
        ("tag,parity\n", "names no animal"),
        ("number,parity\n1,2\n", "'number'"),
        ("tag,tag\n1,1\n", "twice"),
        ("tag,natural_to\n1,2026-10-01\n", "natural_from"),
        ('tag\n"1\n', "CSV"),
    ],
)
def test_a_list_that_is_none_is_refused(tmp_path: Path, text: str, told: str) -> None:
    with pytest.raises(BadInputError, match=told):
        read_herd_list(written(tmp_path, text))


def test_another_encoding_is_not_guessed_at(tmp_path: Path) -> None:
    path = written(tmp_path, "tag,breed\n1,Holstein\n2,Fjällko\n", "latin-1")
    with pytest.raises(BadInputError, match="letters are not UTF-8"):
        read_herd_list(path)


def test_a_missing_list_is_told(tmp_path: Path) -> None:
    with pytest.raises(BadInputError, match="not there"):
        read_herd_list(tmp_path / "herd.csv")
