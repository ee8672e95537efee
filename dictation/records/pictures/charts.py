"""Charts of all animals of a visit. Each is None where there is nothing to show."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from typing import TYPE_CHECKING

from dictation.records.ahead import ahead_of
from dictation.records.farm_list.not_pregnant import is_open
from dictation.records.farm_list.part import day, tag_of
from dictation.records.farm_list.pregnant import is_pregnant
from dictation.records.icar.left_out import kind_of
from dictation.records.pictures.figure import chart, svg_of
from dictation.records.pictures.picture import Picture
from dictation.records.settled import settled
from grammar.exam import Exam
from grammar.facts import facts_of
from grammar.figures import AgeSummary
from grammar.findings import Measurement, Ovary, Uterus
from grammar.history import recheck_day
from grammar.summary import summarise

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.ticker import MaxNLocator

WEEK = 7
MOST_NAMED = 25
"""More animals than this are drawn without their tags: the letters would touch."""

GREY, BLACK = "#bdbdbd", "#000"


def ages(exams: tuple[Exam, ...]) -> Picture | None:
    """How far in calf: animals by week, and under it each with the error of its age."""
    mine = [(tag_of(e), age) for e in exams if is_pregnant(e) and (age := _age(e)) is not None]
    mine.sort(key=lambda each: -(each[1].age_days or 0))
    if not mine:
        return None
    days = [age.age_days or 0 for _, age in mine]
    named = len(mine) <= MOST_NAMED
    rows_in = (0.26 if named else 0.07) * len(mine)
    rows_in = max(0.5, rows_in)
    figure, (above, below) = chart(2.4 + rows_in, (1.7, rows_in))
    first, last = min(days) // WEEK * WEEK, max(days) // WEEK * WEEK + WEEK
    above.hist(days, bins=list(range(first, last + 1, WEEK)), color=GREY, edgecolor=BLACK)
    _plain(above, "animals")
    errors = [age.age_error_days or 0.0 for _, age in mine]
    size, cap = (6, 3) if named else (2, 0)
    places = range(len(mine))
    below.errorbar(
        days, places, xerr=errors, fmt="o", color=BLACK, markersize=size, capsize=cap, elinewidth=1
    )
    below.set_ylim(-0.7, len(mine) - 0.3)
    below.set_yticks(range(len(mine)) if named else [], [tag for tag, _ in mine] if named else [])
    below.set_xlabel("days in calf, with the error of each")
    _bare(below)
    title = "How far in calf"
    words = f"{len(mine)} animals, by week. The bars hold the true age nineteen times in twenty."
    return Picture("ages", title, svg_of(figure, title), words)


def calvings(exams: tuple[Exam, ...]) -> Picture | None:
    """Expected calvings by week, Monday to Sunday."""
    due = [calving.on for e in exams if (calving := ahead_of(e).calving) is not None]
    title = "Expected calvings by week"
    words = "By the expected day; each cow may calve up to about two weeks before or after it."
    return _weeks("calvings", title, due, words)


def rechecks(exams: tuple[Exam, ...]) -> Picture | None:
    """Animals to be looked at again, by week."""
    due = [on for exam in exams if (on := recheck_day(settled(exam))) is not None]
    return _weeks("rechecks", "To be looked at again, by week", due, "As the vet asked.")


def open_since_calving(exams: tuple[Exam, ...]) -> Picture | None:
    """Open cows by days since calving."""
    found = [facts_of(exam).days_calved for exam in exams if is_open(exam)]
    days = [each for each in found if each is not None]
    if not days:
        return None
    step = 30
    figure, (axes,) = chart(2.4)
    last = max(days) // step * step + step
    axes.hist(days, bins=list(range(0, last + 1, step)), color=GREY, edgecolor=BLACK)
    axes.set_xticks(range(0, last + 1, step if last <= 360 else 2 * step))
    axes.set_xlabel("days since calving")
    _plain(axes, "open cows")
    unknown = len(found) - len(days)
    words = f"{unknown} more with no calving date known." if unknown else ""
    title = "Open cows by days since calving"
    return Picture("open", title, svg_of(figure, title), words)


def kinds(exams: tuple[Exam, ...]) -> Picture | None:
    """Findings of ovaries, uterus and conceptus by kind: animals, not findings."""
    counts = Counter(kind for exam in exams for kind in _kinds(exam))
    if not counts:
        return None
    most = counts.most_common()
    most.sort(key=lambda pair: (pair[1], pair[0]))
    figure, (axes,) = chart(0.9 + 0.27 * len(most))
    bars = axes.barh(
        [kind for kind, _ in most], [count for _, count in most], color=GREY, edgecolor=BLACK
    )
    axes.bar_label(bars, padding=3)
    axes.set_xlabel("animals")
    axes.xaxis.set_major_locator(_whole_numbers())
    _bare(axes)
    title = "What was found"
    return Picture("kinds", title, svg_of(figure, title))


def _kinds(exam: Exam) -> set[str]:
    findings = settled(exam).findings
    return {
        kind_of(f)
        for f in findings
        if isinstance(f, Ovary | Uterus | Measurement) and getattr(f, "count", None) != 0
    }


def _age(exam: Exam) -> AgeSummary | None:
    facts = facts_of(settled(exam))
    age = summarise(facts)
    return None if age.age_days is None or facts.ages.contradict else age


def _weeks(name: str, title: str, days: list[date], words: str) -> Picture | None:
    if not days:
        return None
    counts = Counter(on - timedelta(days=on.weekday()) for on in days)
    first, last = min(counts), max(counts)
    weeks = [first + timedelta(days=n) for n in range(0, (last - first).days + 1, WEEK)]
    figure, (axes,) = chart(2.6)
    axes.bar(
        range(len(weeks)), [counts[week] for week in weeks], width=0.9, color=GREY, edgecolor=BLACK
    )
    step = -(-len(weeks) // 8)
    labels = [_short(week) for week in weeks[::step]]
    axes.set_xticks(range(0, len(weeks), step), labels)
    axes.set_xlim(-0.7, max(len(weeks), 6) - 0.3)
    axes.set_xlabel("week from Monday")
    _plain(axes, "animals")
    return Picture(name, title, svg_of(figure, title), words)


def _short(on: date) -> str:
    words = day(on).split()
    return f"{words[0]} {words[1]}\n{words[2]}"


def _plain(axes: Axes, what: str) -> None:
    axes.set_ylabel(what)
    axes.yaxis.set_major_locator(_whole_numbers())
    _bare(axes)


def _whole_numbers() -> MaxNLocator:
    from matplotlib.ticker import MaxNLocator

    return MaxNLocator(nbins=6, integer=True)


def _bare(axes: Axes) -> None:
    axes.spines[["top", "right"]].set_visible(False)
    axes.tick_params(length=3)
