"""Tables of the bench of people: real people to us, real sound that is not for us, made voices.

People and made voices never stand in one table. Intervals take sounds for independent; where a
speaker has many, leaving each speaker out in turn shows how much hangs on one of them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence

from rich.table import Table

from tests.bench.figures import table
from tests.bench.hearing import Row, Taken
from tests.bench.intervals import Share, per_hour
from tests.bench.real_people import RealSound
from tests.bench.report import SECONDS_AN_HOUR, grouped

SHOWN_APART = 5
"""A condition has a line of its own from so many sounds on."""

Judge = Callable[[Taken], bool]


def is_right(taken: Taken) -> bool:
    """Every value was heard, and nothing else."""
    return taken.all_right


def is_asked(taken: Taken) -> bool:
    """A question was raised."""
    return taken.asked


def is_wrong(taken: Taken) -> bool:
    """Something was taken otherwise than it was said, without a question. A side alone is stored
    with what follows it, so that another side heard is wrong already."""
    other_side = any(d.kind == "words" and d.wrong for d in taken.differences)
    return bool(taken.silently_wrong) or (other_side and not taken.asked)


def is_lost(taken: Taken) -> bool:
    """Something was said, and nothing stored or asked."""
    return bool(taken.silently_lost)


def is_stored(taken: Taken) -> bool:
    """Something was put on record, or done."""
    return taken.stored


SAID_TO_US: tuple[tuple[str, Judge], ...] = (
    ("right", is_right),
    ("asked", is_asked),
    ("wrong, not asked", is_wrong),
    ("lost, not asked", is_lost),
)
NOT_FOR_US: tuple[tuple[str, Judge], ...] = (("stored", is_stored), ("asked", is_asked))


def people_tables(rows: Sequence[Row], engine: str) -> list[Table]:
    """Every table for which there are rows."""
    real = [r for r in rows if isinstance(r.sound, RealSound)]
    ours = [r for r in real if r.sound.for_us]
    others = [r for r in real if not r.sound.for_us]
    found = [_shares(ours, engine, "real people, said to us", SAID_TO_US)] if ours else []
    if others:
        found.append(_others(others, engine))
    for some, measures in ((ours, SAID_TO_US), (others, NOT_FOR_US)):
        if some:
            found.append(_without_each(some, engine, measures))
    return found + _made(rows, engine)


def share(rows: Sequence[Row], engine: str, judge: Judge) -> Share:
    """How many of the rows are so."""
    return Share(sum(judge(r.taken[engine]) for r in rows), len(rows))


def without_each(rows: Sequence[Row], engine: str, judge: Judge) -> tuple[float, float] | None:
    """Least and greatest share, 0 to 1, with one speaker left out at a time; None for one alone."""
    sounds, hits = (
        Counter(r.sound.voice for r in rows),
        Counter(r.sound.voice for r in rows if judge(r.taken[engine])),
    )
    if len(sounds) < 2:
        return None
    total, so = sounds.total(), hits.total()
    left = [(so - hits[voice]) / (total - count) for voice, count in sounds.items()]
    return min(left), max(left)


def _shares(
    rows: Sequence[Row], engine: str, what: str, measures: Sequence[tuple[str, Judge]]
) -> Table:
    names = [name for name, _ in measures]
    title = f"{engine}: {what} (per cent, 95 % interval)"
    made = table(title, ("kind", "", "sounds", "speakers", *names))
    for kind, condition, group in _groups(rows):
        shares = [str(share(group, engine, judge)) for _, judge in measures]
        made.add_row(kind, condition, *_counts(group), *shares)
    return made


def _others(rows: Sequence[Row], engine: str) -> Table:
    names = [name for name, _ in NOT_FOR_US]
    title = f"{engine}: real sound that is not for us (of 100 sounds, and an hour of it)"
    made = table(title, ("kind", "", "sounds", "speakers or files", "hours", *names,
                         *(f"{name} /h" for name in names)))  # fmt: skip
    for kind, condition, group in _groups(rows):
        hours = sum(r.seconds for r in group) / SECONDS_AN_HOUR
        shares = [share(group, engine, judge) for _, judge in NOT_FOR_US]
        rates = [per_hour(each.hits, hours) for each in shares]
        made.add_row(kind, condition, *_counts(group), f"{hours:.3f}", *map(str, shares), *rates)
    return made


def _without_each(rows: Sequence[Row], engine: str, measures: Sequence[tuple[str, Judge]]) -> Table:
    title = f"{engine}: one speaker or file left out at a time (per cent, least to greatest)"
    made = table(title, ("kind", "speakers", *(name for name, _ in measures)))
    for kind, group in _by(rows, lambda r: r.sound.kind):
        ranges = [without_each(group, engine, judge) for _, judge in measures]
        told = ["-" if r is None else f"{100 * r[0]:.1f}-{100 * r[1]:.1f}" for r in ranges]
        made.add_row(kind, _counts(group)[1], *told)
    return made


def _made(rows: Sequence[Row], engine: str) -> list[Table]:
    """Made voices, each kind by condition as the bench of recognition has them."""
    made = [r for r in rows if not isinstance(r.sound, RealSound)]
    found = []
    for kind, group in _by(made, lambda r: r.sound.kind):
        conditions = {"all": group, **dict(_by(group, lambda r: r.sound.condition))}
        found.append(grouped(conditions, engine, f"condition, made voices, {kind}"))
    return found


def _groups(rows: Sequence[Row]) -> Iterator[tuple[str, str, list[Row]]]:
    """Rows by kind, then the larger parts of it by condition, the largest first."""
    for kind, of_kind in _by(rows, lambda r: r.sound.kind):
        yield kind, "all", of_kind
        conditions = sorted(_by(of_kind, lambda r: r.sound.condition), key=lambda c: -len(c[1]))
        for condition, group in conditions:
            if SHOWN_APART <= len(group) < len(of_kind):
                yield "", condition, group


def _by(rows: Sequence[Row], what: Callable[[Row], str]) -> list[tuple[str, list[Row]]]:
    found: dict[str, list[Row]] = {}
    for row in rows:
        found.setdefault(what(row), []).append(row)
    return list(found.items())


def _counts(rows: Sequence[Row]) -> tuple[str, str]:
    return str(len(rows)), str(len({r.sound.voice for r in rows}))
