"""Herd lists as farms have them: recognised, confirmed, kept; never half read, never guessed."""

from __future__ import annotations

import json
from datetime import date, datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook

from dictation.errors import BadInputError
from dictation.records.herd.dates import DateOrder, possible_orders, read_date
from dictation.records.herd.layout import (
    LAYOUT_NAME,
    Layout,
    keep_layout,
    known_as,
    layout_beside,
    recognise,
)
from dictation.records.herd.sheet import content_of
from dictation.records.herd_list import read_herd_list, sheet_of
from grammar.exam import Service

GERMAN = (
    "Herd list of Larkmoor, printed 12.11.2026;;;;;\r\n"
    "Kuh-Nr.;Rasse;Kalbung;Besamung;Bulle;Bemerkung\r\n"
    "0837;Holstein;12.07.2026;04.10.2026;Fränzi;lahm\r\n"
    "412;Jersey;30.06.2026;20.09.2026;;\r\n"
)


def file(folder: Path, text: str, encoding: str = "utf-8", name: str = "cows.csv") -> Path:
    path = folder / name
    path.write_bytes(text.encode(encoding))
    return path


def recognised(path: Path) -> Layout:
    return recognise(sheet_of(path, content_of(path))).layout


def columns(path: Path) -> dict[str, str | None]:
    return recognised(path).names


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_letters_and_delimiter_are_recognised(
    tmp_path: Path, encoding: str, delimiter: str
) -> None:
    path = file(tmp_path, GERMAN.replace(";", delimiter), encoding)
    layout = recognised(path)
    assert layout.encoding == encoding
    assert layout.delimiter == delimiter
    first, second = read_herd_list(path, layout).animals
    assert (first.tag, first.breed, first.calved_on) == ("0837", "Holstein", date(2026, 7, 12))
    assert first.services == (Service(date(2026, 10, 4), sire="Fränzi"),)
    assert second.services == (Service(date(2026, 9, 20)),)


def test_columns_are_recognised_by_what_farms_call_them(tmp_path: Path) -> None:
    text = "Cow No.,EID,Breed,Lact,Last Calved,AI 1,Technician 1,AI 2,In Calf,Yield\n" + "1," * 9
    assert columns(file(tmp_path, text + "\n")) == {
        "Cow No.": "tag",
        "EID": "electronic_id",
        "Breed": "breed",
        "Lact": "parity",
        "Last Calved": "calved_on",
        "AI 1": "service_1",
        "Technician 1": "inseminator_1",
        "AI 2": "service_2",
        "In Calf": "last_status",
        "Yield": None,
    }


def test_of_two_columns_for_one_thing_a_person_chooses(tmp_path: Path) -> None:
    path = file(tmp_path, "Number,Cow\n1,5\n")
    assert columns(path) == {"Number": "tag", "Cow": None}
    sheet = sheet_of(path, content_of(path))
    chosen = recognise(sheet, {"Cow": "tag"}).layout
    assert chosen.names == {"Number": None, "Cow": "tag"}


def test_what_a_column_of_services_counts_is_no_date() -> None:
    assert known_as("Services") is None or known_as("Services") == "services"
    assert known_as("Number of services") is None


@pytest.mark.parametrize(
    ("texts", "orders"),
    [
        (["13/07/2026", "01/02/2026"], {DateOrder.DAY_FIRST}),
        (["07/13/2026", "01/02/2026"], {DateOrder.MONTH_FIRST}),
        (["01/02/2026"], {DateOrder.DAY_FIRST, DateOrder.MONTH_FIRST}),
        (["13/07/2026", "07/13/2026"], set()),
        (["2026-07-13"], set(DateOrder)),
        (["2026-07-13", "13.7.26"], {DateOrder.DAY_FIRST}),
        (["31/02/2026"], set(DateOrder)),
        (["31.02.2026", "13.7.26", "1.8.26"], {DateOrder.DAY_FIRST}),
        (["", "12-7-2026 08:30"], {DateOrder.DAY_FIRST, DateOrder.MONTH_FIRST}),
    ],
)
def test_the_order_of_dates_is_what_fits_all_of_them(
    texts: list[str], orders: set[DateOrder]
) -> None:
    assert possible_orders(texts) == orders


@given(st.dates(date(2000, 1, 1), date(2099, 12, 31)))
def test_a_date_is_read_in_every_order(day: date) -> None:
    assert read_date(day.isoformat(), DateOrder.DAY_FIRST) == day
    assert read_date(f"{day.day}.{day.month}.{day.year}", DateOrder.DAY_FIRST) == day
    assert read_date(f"{day.month}/{day.day}/{day:%y}", DateOrder.MONTH_FIRST) == day


def test_a_list_in_another_form_is_not_read_before_it_was_confirmed(tmp_path: Path) -> None:
    path = file(tmp_path, GERMAN)
    with pytest.raises(BadInputError, match="hornsweep import herd"):
        read_herd_list(path)
    keep_layout(path, recognised(path))
    assert [a.tag for a in read_herd_list(path).animals] == ["0837", "412"]


def test_what_was_confirmed_holds_for_later_lists_of_the_folder(tmp_path: Path) -> None:
    keep_layout(file(tmp_path, GERMAN), recognised(file(tmp_path, GERMAN)))
    lines = "Bulle;Kalbung;Besamung;Kuh-Nr.;Rasse;Bemerkung\r\n;02.03.2026;;9;;\r\n"
    later = file(tmp_path, lines, name="december.csv")
    (animal,) = read_herd_list(later).animals
    # 2 March by the kept order, though the list alone would fit 3 February too.
    assert (animal.tag, animal.calved_on) == ("9", date(2026, 3, 2))


@pytest.mark.parametrize(
    ("header", "how"),
    [
        ("Kuh-Nr.;Rasse;Kalbung;Besamung;Bulle;Bemerkung;Neu", "'Neu' is new"),
        ("Kuh-Nr.;Rasse;Kalbung;Bulle;Bemerkung", "'Besamung' is missing"),
    ],
)
def test_a_column_that_changed_since_is_told(tmp_path: Path, header: str, how: str) -> None:
    keep_layout(file(tmp_path, GERMAN), recognised(file(tmp_path, GERMAN)))
    cells = ";" * header.count(";")
    later = file(tmp_path, f"{header}\r\n5{cells}\r\n", name="later.csv")
    with pytest.raises(BadInputError, match=how):
        read_herd_list(later)


def test_our_own_form_is_read_even_beside_a_kept_layout(tmp_path: Path) -> None:
    keep_layout(file(tmp_path, GERMAN), recognised(file(tmp_path, GERMAN)))
    ours = file(tmp_path, "tag,calved_on\n7,2026-03-02\n", name="ours.csv")
    assert read_herd_list(ours).animals[0].calved_on == date(2026, 3, 2)


@given(st.lists(st.text(min_size=1, max_size=12), min_size=1, max_size=4, unique=True))
def test_any_heading_is_kept_and_read_again(headings: list[str]) -> None:
    import tempfile

    from dictation.records.one_line import one_line

    named = dict.fromkeys((one_line(h) or "x" for h in headings), None)
    layout = Layout((*named.items(), ("Tag", "tag")), DateOrder.DAY_FIRST, "utf-8", ";")
    with tempfile.TemporaryDirectory() as folder:
        keep_layout(Path(folder) / "x.csv", layout)
        kept = layout_beside(Path(folder) / "x.csv")
    assert kept is not None
    assert kept.names == layout.names
    assert (kept.date_order, kept.encoding, kept.delimiter) == (DateOrder.DAY_FIRST, "utf-8", ";")


@pytest.mark.parametrize(
    "text", ["not toml [", "a = 1", '[columns]\nx = "no_such"', '[columns]\nx = ""\n[x]\n"y']
)
def test_a_damaged_layout_is_told_by_its_name(tmp_path: Path, text: str) -> None:
    (tmp_path / LAYOUT_NAME).write_text(text, encoding="utf-8")
    with pytest.raises(BadInputError, match=LAYOUT_NAME):
        layout_beside(tmp_path / "herd.csv")


def test_every_mistake_of_a_foreign_list_is_named_at_once(tmp_path: Path) -> None:
    text = GERMAN + "12;;40.07.2026;;;\r\n412;;;;;\r\n2,76E+14;;;;;\r\n;Jersey;;;;\r\n5;;\r\n"
    path = file(tmp_path, text)
    layout = recognised(file(tmp_path, GERMAN))
    file(tmp_path, text)
    with pytest.raises(BadInputError) as caught:
        read_herd_list(path, layout)
    for part in (
        "line 5, column calved_on: '40.07.2026' is no date like 18/11/2026",
        "line 6, column tag: 412 is on line 4 too",
        "line 7, column tag: '2,76E+14' is a number that a spreadsheet has rounded",
        "line 8, column tag: is empty",
        "line 9, column 4: 3 cells where the header has 6",
    ):
        assert part in str(caught.value)


def workbook(folder: Path, *rows: tuple[object, ...], name: str = "herd.xlsx") -> Path:
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    for row in rows:
        sheet.append(list(row))
    book.save(folder / name)
    return folder / name


def test_a_workbook_gives_numbers_and_dates_as_they_are_shown(tmp_path: Path) -> None:
    path = workbook(
        tmp_path,
        ("tag", "electronic_id", "parity", "calved_on", "service_1", "breed"),
        (837, 276000312312345, 3, datetime(2026, 7, 12), date(2026, 10, 4), "Holstein"),
        ("0412", None, 2.0, "2026-06-30", None, None),
    )
    first, second = read_herd_list(path).animals
    assert (first.tag, first.electronic_id, first.parity) == ("837", "276000312312345", 3)
    assert first.calved_on == date(2026, 7, 12)
    assert first.services == (Service(date(2026, 10, 4)),)
    assert (second.tag, second.parity, second.services) == ("0412", 2, ())


def test_zeros_that_only_the_format_shows_are_kept(tmp_path: Path) -> None:
    path = workbook(tmp_path, ("tag",), (412,))
    from openpyxl import load_workbook

    book = load_workbook(path)
    book.active["A2"].number_format = "0000"  # type: ignore[index]
    book.save(path)
    assert read_herd_list(path).animals[0].tag == "0412"


def test_a_workbook_in_another_form_is_confirmed_like_any_list(tmp_path: Path) -> None:
    path = workbook(tmp_path, ("Cow", "Calved"), (5, datetime(2026, 7, 12)))
    with pytest.raises(BadInputError, match="import herd"):
        read_herd_list(path)
    keep_layout(path, recognised(path))
    assert read_herd_list(path).animals[0].calved_on == date(2026, 7, 12)


def test_a_formula_without_its_value_is_told_and_never_run(tmp_path: Path) -> None:
    path = workbook(tmp_path, ("tag",), ("=1+1",))
    with pytest.raises(BadInputError, match="line 2, column 1: a formula"):
        read_herd_list(path)


@pytest.mark.parametrize("content", [b"PK\x03\x04broken", b"\xd0\xcf\x11\xe0old", b"\x00\x01\x02"])
def test_what_is_no_list_is_refused_in_a_sentence(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "herd.xlsx"
    path.write_bytes(content)
    with pytest.raises(BadInputError):
        read_herd_list(path)


def standard(folder: Path, records: object) -> Path:
    path = folder / "herd.json"
    path.write_text(json.dumps(records), encoding="utf-8")
    return path


NUMBER = {"scheme": "std.iso.11785", "id": "276000312312345"}
ANIMAL: dict[str, object] = {
    "resourceType": "icarAnimalCoreResource",
    "identifier": NUMBER,
    "specie": "Cattle",
    "gender": "Female",
    "managementTag": "837",
    "primaryBreed": {"scheme": "org.icar.breed", "id": "HOL"},
}


def event(kind: str, on: str, **more: object) -> dict[str, object]:
    return {"resourceType": kind, "animal": NUMBER, "eventDateTime": f"{on}T12:00:00Z", **more}


def test_the_standard_s_animals_come_with_their_events(tmp_path: Path) -> None:
    path = standard(
        tmp_path,
        [
            {"view": {"totalItems": 1}, "member": [ANIMAL]},
            event("icarReproParturitionEventResource", "2026-07-12", damParity=3),
            event("icarReproParturitionEventResource", "2025-07-01", damParity=2),
            event(
                "icarReproInseminationEventResource",
                "2026-10-04",
                inseminationType="Insemination",
                sireIdentifiers=[{"scheme": "x", "id": "LIMFRAM001234567890"}],
                sireOfficialName="Rowan",
                responsible="Ash",
            ),
            event(
                "icarReproInseminationEventResource",
                "2026-08-01",
                inseminationType="RunWithBull",
                eventEndDateTime="2026-08-20T12:00:00Z",
            ),
            event(
                "icarReproInseminationEventResource", "2026-11-02", inseminationType="RunWithBull"
            ),
            event(
                "icarReproInseminationEventResource", "2026-08-30", inseminationType="Implantation"
            ),
            event("icarReproPregnancyCheckEventResource", "2026-11-01", result="Empty"),
            event("icarReproPregnancyCheckEventResource", "2026-11-10", result="Pregnant"),
            event(
                "icarReproPregnancyCheckEventResource",
                "2026-11-12",
                result="Empty",
                meta={"isDeleted": True},
            ),
            event("icarWeightEventResource", "2026-11-12"),
        ],
    )
    (animal,) = read_herd_list(path).animals
    assert (animal.tag, animal.electronic_id) == ("837", "276000312312345")
    assert (animal.breed, animal.parity, animal.calved_on) == ("HOL", 3, date(2026, 7, 12))
    assert animal.last_status == "pregnant"
    assert animal.services == (
        Service(date(2026, 8, 1), date(2026, 8, 20)),
        Service(date(2026, 10, 4), sire="Rowan", inseminator="Ash", sire_breed="limousin"),
        Service(date(2026, 11, 2), natural=True),
    )


def test_an_animal_known_only_by_her_events_has_her_number_in_the_herd(tmp_path: Path) -> None:
    within = {"scheme": "composite.withinherdid", "id": "123450.412"}
    check = event("icarReproPregnancyCheckEventResource", "2026-11-01", result="Empty")
    (animal,) = read_herd_list(standard(tmp_path, [check | {"animal": within}])).animals
    assert (animal.tag, animal.last_status) == ("412", "open")


@pytest.mark.parametrize(
    ("records", "told"),
    [
        ("not a record", "holds no animals"),
        ([1, 2], "holds no animals"),
        ([], "holds no animals"),
        (
            [ANIMAL, event("icarReproParturitionEventResource", "soon")],
            "record 2, field eventDateTime",
        ),
        ([{"resourceType": "icarReproPregnancyCheckEventResource"}], "record 1, field animal"),
    ],
)
def test_a_mistake_in_the_standard_s_json_is_told(
    tmp_path: Path, records: object, told: str
) -> None:
    with pytest.raises(BadInputError, match=told):
        read_herd_list(standard(tmp_path, records))


def test_broken_json_is_told(tmp_path: Path) -> None:
    with pytest.raises(BadInputError, match="is not JSON"):
        read_herd_list(file(tmp_path, "{", name="herd.json"))


def test_every_mistake_in_the_standard_s_json_is_told_at_once(tmp_path: Path) -> None:
    other = {"scheme": "org.example.herd", "id": "9"}
    records = [
        ANIMAL,
        {"resourceType": "icarAnimalCoreResource", "managementTag": "5"},
        ANIMAL,
        ANIMAL | {"identifier": other},
        event("icarReproInseminationEventResource", "soon"),
        event("icarReproParturitionEventResource", "2026-07-12", damParity="3"),
        event("icarReproPregnancyCheckEventResource", "2026-07-12") | {"animal": {"id": "5"}},
    ]
    with pytest.raises(BadInputError) as caught:
        read_herd_list(standard(tmp_path, records))
    for part in (
        "record 2, field identifier: is missing",
        "record 3, field identifier: 276000312312345 is in record 1 too",
        "record 4, field managementTag: 837 is in record 1 too",
        "record 5, field eventDateTime: 'soonT12:00:00Z'",
        "record 1, field damParity: '3' is no whole number",
        "record 7, field animal: is missing",
    ):
        assert part in str(caught.value)


def test_who_left_the_farm_and_bulls_are_no_cows_of_the_herd(tmp_path: Path) -> None:
    def another(number: str, **more: object) -> dict[str, object]:
        identifier = {"scheme": "org.example.herd", "id": number}
        return ANIMAL | {"identifier": identifier, "managementTag": number, **more}

    records = [
        another("1"),
        another("2", status="OffFarm"),
        another("3", status="Dead"),
        another("4", gender="Male"),
        another("5", status="Unknown"),
        event("icarReproPregnancyCheckEventResource", "2026-11-01", result="Empty")
        | {"animal": {"scheme": "org.example.herd", "id": "2"}},
    ]
    animals = read_herd_list(standard(tmp_path, records)).animals
    assert [animal.tag for animal in animals] == ["1", "5"]
    with pytest.raises(BadInputError, match="names no animal"):
        read_herd_list(standard(tmp_path, records[1:3]))


def test_what_hornsweep_sends_can_be_read_back_as_earlier_results(tmp_path: Path) -> None:
    golden = Path(__file__).parent / "golden" / "icar" / "pregnancy_checks.json"
    animals = read_herd_list(standard(tmp_path, json.loads(golden.read_text("utf-8")))).animals
    statuses = {animal.tag: animal.last_status for animal in animals}
    assert (statuses["412"], statuses["1146"]) == ("open", "pregnant")


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner),
    max_leaves=6,
)
FIELDS = (
    "identifier", "alternativeIdentifiers", "managementTag", "primaryBreed", "status", "gender",
    "meta", "animal", "eventDateTime", "eventEndDateTime", "damParity", "result", "responsible",
    "sireIdentifiers", "sireOfficialName", "inseminationType", "resourceType",
)  # fmt: skip


@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.integers(0, 3), st.sampled_from(FIELDS), json_values)
def test_no_value_of_any_field_is_more_than_a_mistake(
    tmp_path: Path, which: int, name: str, value: object
) -> None:
    records: list[dict[str, object]] = [
        ANIMAL,
        event("icarReproParturitionEventResource", "2026-07-12", damParity=3),
        event("icarReproInseminationEventResource", "2026-10-04", sireOfficialName="Rowan"),
        event("icarReproPregnancyCheckEventResource", "2026-11-10", result="Pregnant"),
    ]
    records[which] = records[which] | {name: value}
    try:
        animals = read_herd_list(standard(tmp_path, records)).animals
    except BadInputError:
        return
    assert all(animal.tag for animal in animals)
