"""Tables of the bench of real people: what is for us, and what is not, by kind of sound."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rich.table import Table

from tests.bench.figures import table
from tests.bench.hearing import Row, Taken
from tests.bench.intervals import Share, per_hour

SECONDS_AN_HOUR = 3600


def right(rows: Sequence[Row], engine: str) -> Share:
    """Sounds of which every value was heard, and nothing else."""
    return Share(sum(r.taken[engine].all_right for r in rows), len(rows))


def asked(rows: Sequence[Row], engine: str) -> Share:
    """Sounds that raised a question."""
    return Share(sum(r.taken[engine].asked for r in rows), len(rows))


def wrong(rows: Sequence[Row], engine: str) -> Share:
    """Sounds of which something was taken otherwise than it was said, without a question."""
    return Share(sum(_is_wrong(r.taken[engine]) for r in rows), len(rows))


def stored(rows: Sequence[Row], engine: str) -> Share:
    """Sounds of which something was put on record, or done."""
    return Share(sum(r.taken[engine].stored for r in rows), len(rows))


def _is_wrong(taken: Taken) -> bool:
    """A side alone is stored with what follows it, so that another one heard is wrong already."""
    side = any(d.kind == "words" and d.wrong for d in taken.differences)
    return bool(taken.silently_wrong) or (side and not taken.asked)


def people_tables(rows: Sequence[Row], engine: str) -> list[Table]:
    """People's sounds that are for us, and sounds that are not."""
    ours = [r for r in rows if r.sound.for_us]
    others = [r for r in rows if not r.sound.for_us]
    found = []
    if ours:
        found.append(_ours(ours, engine))
    if others:
        found.append(_others(others, engine))
    return found


def _ours(rows: Sequence[Row], engine: str) -> Table:
    columns = ("kind", "", "sounds", "speakers", "right", "asked", "wrong, not asked")
    made = table(f"{engine}: real people, said to us (per cent, 95 % interval)", columns)
    for kind, condition, group in groups(rows):
        speakers = len({r.sound.voice for r in group})
        shares = [str(measure(group, engine)) for measure in (right, asked, wrong)]
        made.add_row(kind, condition, str(len(group)), str(speakers), *shares)
    return made


def _others(rows: Sequence[Row], engine: str) -> Table:
    columns = ("kind", "", "sounds", "speakers or files", "hours", "stored", "asked",
               "stored /h", "asked /h")  # fmt: skip
    made = table(f"{engine}: real sound not for us (per cent, 95 % interval)", columns)
    for kind, condition, group in groups(rows):
        speakers = len({r.sound.voice for r in group})
        hours = sum(r.seconds for r in group) / SECONDS_AN_HOUR
        shares = stored(group, engine), asked(group, engine)
        an_hour = [per_hour(share.hits, hours) for share in shares]
        made.add_row(kind, condition, str(len(group)), str(speakers), f"{hours:.3f}",
                     *map(str, shares), *an_hour)  # fmt: skip
    return made


def groups(rows: Sequence[Row]) -> Iterable[tuple[str, str, list[Row]]]:
    """Rows by kind, then the same by condition where a kind has several."""
    for kind in dict.fromkeys(r.sound.kind for r in rows):
        of_kind = [r for r in rows if r.sound.kind == kind]
        yield kind, "all", of_kind
        conditions = sorted({r.sound.condition for r in of_kind})
        for condition in conditions if len(conditions) > 1 else ():
            yield "", condition, [r for r in of_kind if r.sound.condition == condition]
