"""A page of plain tables, as one HTML file that needs nothing beside it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from importlib import resources

from jinja2 import Environment, StrictUndefined

from dictation.records.one_line import one_line
from dictation.records.pictures.drawing import Picture


@dataclass(frozen=True, slots=True)
class PlainTable:
    """A table under a title; a row has a cell for each column."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def plain_page(
    title: str,
    notes: Iterable[str],
    tables: Iterable[PlainTable],
    pictures: Sequence[Picture] = (),
) -> str:
    """The whole HTML file; all words in it are shown as they are, on one line each."""
    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True,
        finalize=lambda value: value if hasattr(value, "__html__") else one_line(str(value)),
    )  # fmt: skip
    text = resources.files(__package__).joinpath("plain_page.html").read_text(encoding="utf-8")
    return environment.from_string(text).render(
        title=title, notes=tuple(notes), tables=tuple(tables), pictures=pictures
    )
