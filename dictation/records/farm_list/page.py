"""The list as one HTML file that needs nothing beside it, and as PDF."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date
from functools import cache
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

from dictation.decide.people.signing import standing
from dictation.decide.record import Flags
from dictation.disk import remove_file, replace_file
from dictation.errors import MissingError
from dictation.records.ahead import is_lost, settled
from dictation.records.farm_list.by_tag import every_animal, is_open, is_pregnant
from dictation.records.farm_list.part import SMALLER, Line, Part, day
from dictation.records.farm_list.to_do import days, decisions
from dictation.records.one_line import one_line
from dictation.records.pictures.charts import pictures
from dictation.records.pictures.drawing import Picture
from dictation.visit.state import Visit
from grammar.exam import Exam
from grammar.facts import facts_of

if TYPE_CHECKING:
    from jinja2 import Template

CHARTS_OVER = 40
"""Animals over which a chart says more than the list by tag; our choice."""

LAW = (
    "This list records what was said and measured at the visit. It does not diagnose and orders"
    " nothing: the vet decides, and the law where you farm holds."
)

KINDS = ("in calf", "open", "lost", "not known")
"""What an animal counts as at the head of the list; each counts once."""


def parts_of(visit: Visit, flags: Flags, since: tuple[Part, ...] = ()) -> tuple[Part, ...]:
    """The parts that have a line, in the order in which a farm works through them.

    ``since``: what is told of the time since the last visit.
    """
    early = tuple(
        Line("no animal", (query.question,)) for query in visit.open_queries if query.exam is None
    )
    every = (
        *days(visit, flags),
        decisions(visit, flags),
        Part("doubts", "Asked, of no animal", ("Question",), early),
        *since,
        every_animal(visit, flags),
    )
    return tuple(part for part in every if part.lines)


def page(visit: Visit, flags: Flags, since: tuple[Part, ...] = ()) -> str:
    """The whole HTML file."""
    kinds = Counter(kind_of_result(exam) for exam in visit.exams)
    counts = [("looked at", len(visit.exams))]
    counts += [(kind, kinds[kind]) for kind in KINDS if kinds[kind] or kind != "lost"]
    return rendered(
        visit.farm,
        visit.on_date,
        title="Visit of",
        parts=parts_of(visit, flags, since),
        boxed=standing(visit, flags),
        counts=counts,
        pictures=pictures(visit) if len(visit.exams) > CHARTS_OVER else (),
    )


def rendered(  # noqa: PLR0913 - what stands on a page
    farm: str | None,
    on: date | None,
    *,
    title: str,
    parts: tuple[Part, ...],
    boxed: str = "",
    counts: Sequence[tuple[str, int]] = (),
    pictures: tuple[Picture, ...] = (),
    foot: str = LAW,
) -> str:
    """A page for the farm as HTML. ``title`` stands before the day, ``boxed`` at the head."""
    return _template().render(
        farm=one_line(farm) if farm else None,
        on="" if on is None else day(on),
        iso=on,
        title=title,
        boxed=boxed,
        counts=counts,
        parts=parts,
        pictures=pictures,
        foot=foot,
        smaller=SMALLER,
    )


def pdf(html: str) -> bytes | None:
    """The page as PDF, A4; None without the extra ``pdf``.

    Raises MissingError where it is there and this machine has no text layout library.
    """
    try:
        from weasyprint import HTML
    except ModuleNotFoundError:
        return None
    except OSError as error:
        raise MissingError(
            "The PDF cannot be made, because the library Pango is not installed: print the HTML"
            " from a browser, or install Pango (Debian: libpango-1.0-0 libpangoft2-1.0-0)."
        ) from error
    content: bytes = HTML(string=html, url_fetcher=_fetch_nothing).write_pdf()
    return content


def write_page(folder: Path, html: str, name: str = "list") -> tuple[Path, ...]:
    """Write the HTML, and the PDF where it can be made. Raises MissingError."""
    paths = (folder / f"{name}.html", folder / f"{name}.pdf")
    replace_file(paths[0], html.encode("utf-8"))
    # One that was made before would say something else than the page beside it.
    remove_file(paths[1])
    content = pdf(html)
    if content is None:
        return paths[:1]
    replace_file(paths[1], content)
    return paths


def _fetch_nothing(url: str) -> dict[str, object]:
    raise ValueError(f"the list needs nothing from outside, and {url} was asked for")


def kind_of_result(exam: Exam) -> str:
    """The one of ``KINDS`` that an animal counts as."""
    if is_pregnant(exam):
        return "in calf"
    if is_open(exam):
        return "open"
    return "lost" if is_lost(facts_of(settled(exam))) else "not known"


def _shown(text: str) -> str:
    """One line in which a number is not parted from its unit."""
    return one_line(text).replace(" mm", "\N{NO-BREAK SPACE}mm")


@cache
def _template() -> Template:
    from jinja2 import Environment, StrictUndefined

    text = resources.files(__package__).joinpath("list.html").read_text(encoding="utf-8")
    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    environment.filters["shown"] = _shown
    return environment.from_string(text)
