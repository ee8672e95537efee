"""Herd lists of many shapes, all of one invented herd: read right, or what is wrong is said."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from openpyxl import Workbook

from dictation.cli.app import run
from dictation.errors import BadInputError
from dictation.records.herd.dates import DateOrder, dates_in, possible_orders
from dictation.records.herd.layout import recognise
from dictation.records.herd.sheet import content_of
from dictation.records.herd_list import ReadList, read_list, sheet_of
from grammar.exam import KnownAnimal, Service
from tests.records.office import converted, row, title

CALVED = {"837": date(2026, 7, 12), "0412": date(2026, 6, 30), "73": date(2026, 5, 2)}
SERVED = {"837": date(2026, 10, 4), "0412": date(2026, 9, 20)}


def read(path: Path, order: DateOrder | None = None) -> ReadList:
    """A list as it would be read once it was confirmed."""
    from dataclasses import replace

    content = content_of(path)
    found = recognise(sheet_of(path, content))
    layout = found.layout if order is None else replace(found.layout, date_order=order)
    return read_list(path, content, layout)


def file(folder: Path, text: str, encoding: str = "utf-8", name: str = "cows.csv") -> Path:
    path = folder / name
    path.write_bytes(text.encode(encoding))
    return path


def calved(animals: tuple[KnownAnimal, ...]) -> dict[str, date | None]:
    return {a.tag: a.calved_on for a in animals}


def served(animals: tuple[KnownAnimal, ...]) -> dict[str, date]:
    return {a.tag: a.services[-1].first_day for a in animals if a.services}


GERMAN = (
    "Betrieb Larkmoor, Stand 12.11.2026;;;;;\n"
    ";;;;;\n"
    "Stall-Nr.;Ohrmarke;Rasse;Kalbung;letzte Besamung;Trächtigkeit\n"
    "837;DE 01 234 56837;Hol;12.07.2026;04.10.2026;tragend\n"
    "0412;DE 01 234 56412;Jer;30.06.2026;20.09.2026;\n"
    "73;DE 01 234 56073;Hol;02.05.2026;;\n"
    ";;;;;\n"
    "Summe;3;;;2;\n"
)
DUTCH = (
    "Diernummer;Levensnummer;Groep;Laatste afkalving;Laatste inseminatie\n"
    "837;NL 6802 5082 9;A;12 juli 2026;4 okt. 2026\n"
    "0412;NL 6802 5083 6;A;30 juni 2026;20 sept 2026\n"
    "73;NL 6802 5084 3;B;2 mei 2026;-\n"
    "Totaal: 3 dieren\n"
)
FRENCH = (
    "N° de travail\tN° national\tDate vêlage\tDernière IA\tTaureau\n"
    "837\tFR 12 3456 0837\t12 juil. 2026\t4 octobre 2026\tRowan\n"
    "0412\tFR 12 3456 0412\t30/06/2026\t20/09/2026\t\n"
    "73\tFR 12 3456 0073\t2 mai 2026\t\t\n"
    "Moyenne\t\t\t1,2\t\n"
)
SPANISH = (
    "Nº vaca|Crotal|Lote|Fecha último parto|Última inseminación\n"
    "837|ES 010 2345 60837|1|12-jul-2026|4-oct-26\n"
    "0412|ES 010 2345 60412|1|30-jun-2026|20-sep-26\n"
    "73|ES 010 2345 60073|2|2-may-2026|\n"
)
PORTUGUESE = (
    "Brinco;Lote;Data do último parto;Última inseminação\n"
    "837;1;12/07/2026;04/10/2026\n0412;1;30/06/2026;20/09/2026\n73;2;02/05/2026;\nMédia;;;2,1\n"
)
ITALIAN = (
    "Vacca;Matricola;Data parto;Ultima fecondazione;Toro\n"
    "837;IT 001 2345 60837;12 luglio 2026;4 ottobre 2026;Rowan\n"
    "0412;IT 001 2345 60412;30 giu 2026;20 set 2026;\n"
    "73;IT 001 2345 60073;2 maggio 2026;;\nTotale;;3;;\n"
)
DANISH = (
    "Konummer;Øremærke;Hold;Sidste kælvning;Sidste inseminering;Drægtighed\n"
    "837;DK 12345 00837;1;12. juli 2026;4. oktober 2026;drægtig\n"
    "0412;DK 12345 00412;1;30. juni 2026;20. september 2026;\n"
    "73;DK 12345 00073;2;2. maj 2026;;\n"
)


@pytest.mark.parametrize(
    "text",
    [GERMAN, DUTCH, FRENCH, SPANISH, PORTUGUESE, ITALIAN, DANISH],
    ids=["German", "Dutch", "French", "Spanish", "Portuguese", "Italian", "Danish"],
)
def test_a_list_in_the_farm_s_own_language_is_read_without_its_totals(
    tmp_path: Path, text: str
) -> None:
    animals = read(file(tmp_path, text)).animals
    assert calved(animals) == CALVED
    assert served(animals) == SERVED


def test_ear_tags_beside_short_numbers_are_kept_whole(tmp_path: Path) -> None:
    animals = read(file(tmp_path, GERMAN)).animals
    assert [a.national for a in animals] == [f"DE 01 234 56{n}" for n in ("837", "412", "073")]
    only = "Ohrmarke;Kalbung\nDE 01 234 56837;13.07.2026\n"
    (animal,) = read(file(tmp_path, only)).animals
    assert (animal.tag, animal.national) == ("DE 01 234 56837", None)


@pytest.mark.parametrize("encoding", ["cp1252", "cp850", "mac_roman", "utf-16-le", "utf-16"])
@pytest.mark.parametrize("delimiter", [";", ",", "\t", "|", "^", "~"])
def test_any_sign_between_columns_and_any_letters(
    tmp_path: Path, encoding: str, delimiter: str
) -> None:
    text = GERMAN.replace("Hol;", "Höhenfleckvieh;").replace(";", delimiter)
    animals = read(file(tmp_path, text, encoding)).animals
    assert calved(animals) == CALVED
    assert animals[0].breed == "Höhenfleckvieh"


def test_a_line_that_names_the_sign_between_columns(tmp_path: Path) -> None:
    assert calved(read(file(tmp_path, "sep=;\r\n" + GERMAN)).animals) == CALVED


def test_headings_in_two_rows(tmp_path: Path) -> None:
    text = (
        "Animal,,Last,Service 1,,Service 2,,\n"
        "No,Ear tag,calving,Date,Bull,Date,Bull,Notes\n"
        "837,UK 123456 100837,12/07/2026,12/09/2026,Ash,04/10/2026,Rowan,\n"
        "0412,UK 123456 200412,30/06/2026,20/09/2026,,,,x\n"
        "73,UK 123456 300073,02/05/2026,,,,,\n"
    )
    animals = read(file(tmp_path, text)).animals
    assert calved(animals) == CALVED
    assert [(s.first_day.day, s.sire) for s in animals[0].services] == [(12, "Ash"), (4, "Rowan")]


def test_an_american_list_with_groups_headings_again_and_counts(tmp_path: Path) -> None:
    text = (
        "Pen 1\nCow,Fresh Date,Last Bred,Sex\n837,7/12/2026,10/4/2026,F\n"
        "0412,6/30/2026,9/20/2026,F\n2 cows\nPen 2\nCow,Fresh Date,Last Bred,Sex\n"
        "73,5/2/2026,,F\n5001,,,Bull\nTotal 4\nPage 1 of 1\n"
    )
    found = read(file(tmp_path, text))
    assert calved(found.animals) == {**CALVED, "5001": None}
    assert found.animals[-1].animal_class == "bull"
    assert found.animals[-2].pen == "Pen 2"
    assert {line for line, _ in found.passed_over} == {5, 6, 7, 10, 11}


def test_one_impossible_date_is_named_and_the_others_are_read_as_before(tmp_path: Path) -> None:
    path = file(tmp_path, GERMAN.replace("30.06.2026", "31.02.26"))
    assert recognise(sheet_of(path, content_of(path))).layout.date_order is DateOrder.DAY_FIRST
    with pytest.raises(BadInputError) as caught:
        read(path)
    assert "line 5, column calved_on: '31.02.26' is no date like 18/11/2026" in str(caught.value)
    assert str(caught.value).count("is no date") == 1


@pytest.mark.parametrize(
    ("text", "days"),
    [
        ("Sun 12/07/2026", [date(2026, 7, 12)]),
        ("12.07.2026 twins, assisted", [date(2026, 7, 12)]),
        ("calved 12/7/26", [date(2026, 7, 12)]),
        ("04/10/26 + 26/10/26 Rowan", [date(2026, 10, 4), date(2026, 10, 26)]),
        ("04.10.2026, 26.10.2026", [date(2026, 10, 4), date(2026, 10, 26)]),
        ("04.10.2026\n26.10.2026", [date(2026, 10, 4), date(2026, 10, 26)]),
        ("12/07/2026 08:30", [date(2026, 7, 12)]),
        ("Donnerstag, 12. März 2026", [date(2026, 3, 12)]),
        ("July 12, 2026", [date(2026, 7, 12)]),
        ("12th of July 2026", [date(2026, 7, 12)]),
        ("12 de julio de 2026", [date(2026, 7, 12)]),
        ("2026/07/12", [date(2026, 7, 12)]),
        ("2026-07-12T00:00:00", [date(2026, 7, 12)]),
        ("bull running", []),
        ("?", []),
    ],
)
def test_a_cell_of_dates_may_hold_names_and_notes(text: str, days: list[date]) -> None:
    assert list(dates_in(text, DateOrder.DAY_FIRST)) == days


@pytest.mark.parametrize(
    "text", ["31/02/2026", "04.10.2026/26.10.", "46215", "12 jui 2026", "0", "13 7", "40.07.26"]
)
def test_what_may_be_a_date_and_cannot_be_read_is_never_left_out(text: str) -> None:
    with pytest.raises(ValueError, match=r".*"):
        dates_in(text, DateOrder.DAY_FIRST)


def test_dates_of_two_orders_in_one_list_are_not_guessed_at() -> None:
    assert possible_orders(["13/07/2026", "07/13/2026", "01/02/2026"]) == frozenset()
    assert possible_orders(["3/4/26"]) == {DateOrder.DAY_FIRST, DateOrder.MONTH_FIRST}


def test_a_row_for_each_service_and_rows_that_come_twice_are_one_animal(tmp_path: Path) -> None:
    text = (
        "Cow;Calved;AI;Bull\n837;12.07.2026;12.09.2026;Ash\n837;12.07.2026;04.10.2026;Rowan\n"
        ";;13.10.2026;Elm\n73;02.05.2026;;\n73;02.05.2026;;\n"
    )
    first, second = read(file(tmp_path, text)).animals
    assert [s.sire for s in first.services] == ["Ash", "Rowan", "Elm"]
    assert (second.tag, second.services) == ("73", ())


def test_one_number_for_two_animals_is_told(tmp_path: Path) -> None:
    text = "Cow;Calved\n837;12.07.2026\n837;13.07.2026\n"
    with pytest.raises(BadInputError, match="line 3, column tag: 837 is on line 2 too"):
        read(file(tmp_path, text))


def test_a_workbook_with_titles_merged_cells_and_a_total(tmp_path: Path) -> None:
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    for cells in (
        ("Larkmoor Crossing", None, None, None),
        (None, None, None, None),
        ("Animal", None, "Last", None),
        ("Pen", "Number", "calving", "AI"),
        ("North", 837, date(2026, 7, 12), date(2026, 10, 4)),
        (None, "0412", date(2026, 6, 30), "20 Sep 2026 (Ash)"),
        ("South", 73, date(2026, 5, 2), "none"),
        ("Total", 3, None, None),
    ):
        sheet.append(list(cells))
    for merged in ("A1:D1", "A3:B3", "C3:D3", "A5:A6"):
        sheet.merge_cells(merged)
    book.save(tmp_path / "herd.xlsx")
    animals = read(tmp_path / "herd.xlsx").animals
    assert calved(animals) == CALVED
    assert served(animals) == SERVED
    assert [a.pen for a in animals] == ["North", "North", "South"]


def test_an_open_document_is_read_like_any_workbook(tmp_path: Path) -> None:
    rows = [
        title("Kühe", 3), row("Stallnummer", "Kalbung", "Besamung"),
        row(837, date(2026, 7, 12), date(2026, 10, 4)),
        row("0412", date(2026, 6, 30), "20.09.2026"), row(73, date(2026, 5, 2), None),
        row("Gesamt", 3, None),
    ]  # fmt: skip
    path = converted(tmp_path, {"Kühe": rows}, kind="ods")
    animals = read(path).animals
    assert calved(animals) == CALVED
    assert served(animals) == SERVED


def test_the_first_ten_are_shown_as_understood_and_what_is_no_animal_is_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = file(tmp_path, GERMAN)
    assert run(["import", "herd", str(path), "--yes"]) == 0
    told = " ".join(" ".join(capsys.readouterr()).split())
    assert "DE 01 234 56837" in told
    assert "2026-10-04" in told
    assert "line 8 (Summe, 3, 2)" in told
    assert "3 animals" in told


def test_dates_that_fit_both_orders_are_shown_as_both(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["import", "herd", str(file(tmp_path, "Cow;AI\n5;3/4/26\n")), "--yes"]) == 2
    told = " ".join(" ".join(capsys.readouterr()).split())
    assert "Dates: day first (18/11/2026) or month first (11/18/2026)" in told


def test_who_has_no_short_number_is_called_by_her_ear_tag(tmp_path: Path) -> None:
    text = "Cow;Ear tag;Lact\n837;DE 01 234 56837;3.0\n;DE 01 234 56999;2.\n12 Clara;;1\n"
    animals = read(file(tmp_path, text)).animals
    assert [a.tag for a in animals] == ["837", "DE 01 234 56999", "12 Clara"]
    assert [a.parity for a in animals] == [3, 2, 1]


@pytest.mark.parametrize(
    "foot",
    ["48 cows;;", ";;Total 48", "Total;48;", "Anzahl Tiere: 48;;", "Ø;;2,3", "Printed 1.2.2026;;",
     "Cow;Calved;Lact", ";;;", "end of list;;"],
)  # fmt: skip
def test_no_row_becomes_an_animal_that_is_none(tmp_path: Path, foot: str) -> None:
    text = f"Cow;Calved;Lact\n837;12.07.2026;3\n412;30.06.2026;2\n{foot}\n"
    assert [a.tag for a in read(file(tmp_path, text)).animals] == ["837", "412"]


def test_headings_with_lines_marks_and_units_are_read(tmp_path: Path) -> None:
    head = '"Cow\nNo.","Last\ncalving (dd/mm/yyyy)","Last A.I. date*",Age,Sex\n'
    text = head + "837,12/07/2026,04/10/2026,3y 2m,F\n"
    (animal,) = read(file(tmp_path, text)).animals
    assert (animal.tag, animal.calved_on) == ("837", date(2026, 7, 12))
    assert animal.services == (Service(date(2026, 10, 4)),)


def test_a_pen_s_name_makes_no_animal_vanish(tmp_path: Path) -> None:
    text = "Pen;Cow;Calved\nSide A;837;12.07.2026\nBox 2;412;30.06.2026\nTotal;2;\n"
    animals = read(file(tmp_path, text)).animals
    assert [(a.tag, a.pen) for a in animals] == [("837", "Side A"), ("412", "Box 2")]
