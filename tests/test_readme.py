"""README and DEVELOPERS.md against the product: phrases, commands and options, tables."""

from __future__ import annotations

import dataclasses
import re
import shlex
import tomllib
from datetime import date
from enum import StrEnum
from pathlib import Path
from typing import get_args, get_type_hints

import click
import pytest

from dictation.cli.app import COMMANDS, INTERNAL_ERROR, INTERRUPTED, hornsweep, run
from dictation.cli.say import heading_lines
from dictation.console.live import KEYS
from dictation.console.sheet import Heading, sheet
from dictation.errors import HornsweepError
from dictation.records.exam_rows import EXAMS_HEADER
from dictation.records.findings_rows import FINDINGS_HEADER
from dictation.records.questions_file import QUESTIONS_HEADER
from grammar import parse
from grammar.fields import FIELDS, VALUE
from grammar.findings import FINDING_NAMES, CommandName

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
"""Commands, files and interface stand in its second half."""
ON = date(2026, 11, 18)


def section(title: str) -> str:
    sections = rf"^## {title}\n(.*?)(?=^##? |\Z)"
    found = re.search(sections, f"{README}\n{GUIDE}", re.DOTALL | re.MULTILINE)
    assert found, f"neither README nor DEVELOPERS.md has a section '{title}'"
    return found[1]


def phrases() -> list[str]:
    quoted = README[: README.index("## Run")] + section("What you can say")
    found = [" ".join(words.split()) for words in re.findall(r'"([^"]+)"', quoted)]
    assert len(found) > 50
    return found


def commands() -> list[str]:
    inline = [" ".join(code.split()) for code in re.findall(r"`(hornsweep [^`]+)`", README + GUIDE)]
    blocks = "".join(re.findall(r"^```sh\n(.*?)^```", README + GUIDE, re.DOTALL | re.MULTILINE))
    lines = re.findall(r"^hornsweep .+$", blocks, re.MULTILINE)
    assert len(inline) > 20
    assert lines
    return list(dict.fromkeys((*inline, *lines)))


def table(text: str, heading: str) -> list[list[str]]:
    """Rows of the table that begins with a heading, as cells without their backticks."""
    lines = text[text.index(f"| {heading} |") :].split("\n\n", maxsplit=1)[0].splitlines()[2:]
    return [[cell.strip() for cell in line.strip("|").split("|", 1)] for line in lines]


def command_of(words: tuple[str, ...]) -> tuple[click.Command, tuple[str, ...]]:
    """The command that words call, and its name."""
    found: click.Command = hornsweep
    names: list[str] = []
    for word in words:
        if not isinstance(found, click.Group):
            break
        inner = found.get_command(click.Context(found), word)
        if inner is None:
            break
        found, names = inner, [*names, word]
    return found, tuple(names)


@pytest.mark.parametrize("phrase", phrases())
def test_every_phrase_of_readme_has_one_reading(phrase: str) -> None:
    reading = parse(phrase, ON)
    assert reading.unread is None
    assert reading.said
    assert not reading.others


@pytest.mark.parametrize("line", commands())
def test_every_command_of_readme_exists_with_its_options(
    line: str, capsys: pytest.CaptureFixture[str]
) -> None:
    words = shlex.split(line.replace("[", " ").replace("]", " "))[1:]
    command, names = command_of(tuple(words))
    assert names, f"no such command: {line}"
    assert run([*names, "--help"]) == 0
    assert capsys.readouterr().out
    known = {option for param in command.params for option in param.opts}
    assert {word for word in words if word.startswith("--")} <= known | {"--help"}


def test_the_table_of_commands_holds_all_of_them() -> None:
    rows = [row[0].strip("`").split()[1] for row in table(section("Commands"), "command")]
    assert set(rows) == set(COMMANDS)


def test_the_table_of_exit_codes_holds_all_of_them() -> None:
    codes = {int(row[0]) for row in table(section("Commands"), "code")}
    ours = {error.exit_code for error in HornsweepError.__subclasses__()}
    assert ours | {0, 1, INTERNAL_ERROR, INTERRUPTED} == codes


def test_the_table_of_what_can_be_said_is_made_from_the_vocabulary(rewrite_golden: bool) -> None:
    rows = [
        (each.of, ", ".join(f'"{phrase}"' for phrase in each.examples), words_of(each))
        for each in sheet()
    ]
    made = [
        f"| {' | '.join(row)} |" for row in (("of", "for example", "words"), ("---",) * 3, *rows)
    ]
    start = README.index("| of | for example |")
    shown = README[start : README.index("\n\n", start)]
    if rewrite_golden:
        (ROOT / "README.md").write_text(README.replace(shown, "\n".join(made)), encoding="utf-8")
        return
    assert shown.splitlines() == made


def words_of(heading: Heading) -> str:
    """The first form of each thing."""
    lines = heading_lines(Heading(heading.of, (), heading.words), 1)
    return " ".join(" ".join(lines[1:]).split())


def test_the_table_of_findings_holds_every_field_and_value() -> None:
    rows = dict(table(section("Interface"), "finding"))
    assert set(rows) == set(FINDING_NAMES.values())
    for kind, name in FINDING_NAMES.items():
        fields = {field.name for field in dataclasses.fields(kind)}
        renamed = {"class" if n == "treatment_class" else n for n in fields}
        assert set(re.findall(r"`(\w+)`", rows[name])) == renamed
        said = set(re.findall(r"\w+", re.sub(r"`\w+`", "", rows[name])))
        assert said == values_of(kind), name


def test_the_fields_with_a_column_of_their_own_are_named() -> None:
    text = " ".join(section("Interface").split())
    (named,) = re.findall(r"`value` is ([^.]*), in the unit of", text)
    rows = {row.name for rows in FIELDS.values() for row in rows if row.column == VALUE}
    assert set(re.findall(r"\w+", named)) - {"of", "fetuses", "or"} == rows


def values_of(kind: type) -> set[str]:
    words: set[str] = set()
    for hint in get_type_hints(kind).values():
        for each in get_args(hint) or (hint,):
            if isinstance(each, type) and issubclass(each, StrEnum):
                words |= {str(member) for member in each}
    return words


def test_the_table_of_keys_holds_those_that_the_screen_names() -> None:
    keys = " ".join(row[0] for row in table(section("One day"), "key while listening")).split()
    named = re.findall(r"(\d-\d|\w) \w+", KEYS)
    shown = [k for name in named for k in ("123" if name == "1-3" else name)]
    assert sorted(keys) == sorted(shown)


def test_columns_and_spoken_commands_are_those_of_the_product() -> None:
    text = " ".join(section("Interface").split())
    assert f"`exams.csv`: {', '.join(EXAMS_HEADER)}." in text
    assert f"`findings.csv`: {', '.join(FINDINGS_HEADER)}." in text
    assert f"`questions.csv`: {', '.join(QUESTIONS_HEADER)}." in text
    assert f"Commands: {', '.join(CommandName)}." in text


def test_the_pictures_of_readme_are_there() -> None:
    pictures = re.findall(r"tests/pictures/[\w.]+", README)
    assert len(pictures) == 4
    assert [path for path in pictures if not (ROOT / path).is_file()] == []


def test_the_extras_that_readme_names_exist() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    named = set(re.findall(r"extra `([\w-]+)`", README + GUIDE))
    assert named
    assert named <= set(project["optional-dependencies"])
