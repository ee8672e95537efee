"""Tables of a recognition bench, from its rows."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence

from rich.table import Table

from dictation.visit.parts import Fate
from tests.bench.hearing import Row, Taken
from tests.bench.intervals import Share, per_hour
from tests.bench.reliability import reliability_table, threshold_table

SECONDS_AN_HOUR = 3600
LISTED_CONFUSIONS = 12

KINDS = (
    "tag",
    "side",
    "structure",
    "millimetres",
    "days",
    "status",
    "sex",
    "count",
    "plan",
    "condition",
    "command",
    "remark",
)


def taken_of(rows: Iterable[Row], engine: str) -> list[Taken]:
    """What one engine made of the phrases among the rows."""
    return [r.taken[engine] for r in rows if r.sound.for_us and engine in r.taken]


def phrase_right(taken: Sequence[Taken]) -> Share:
    """Phrases of which every value was heard, and nothing else."""
    return Share(sum(t.all_right for t in taken), len(taken))


def values_right(taken: Sequence[Taken], kind: str | None = None) -> Share:
    """Values heard as they were said, whether asked about or not."""
    said = [d for t in taken for d in t.differences if d.said and kind in {None, d.kind}]
    return Share(sum(d.right for d in said), len(said))


def silently_wrong(taken: Sequence[Taken], kind: str | None = None) -> Share:
    """Values stored wrong without a query, of all values said or heard."""
    wrong = sum(kind in {None, d.kind} for t in taken for d in t.silently_wrong)
    return Share(wrong, sum(kind in {None, d.kind} for t in taken for d in t.differences))


def silently_lost(taken: Sequence[Taken]) -> Share:
    """Values said of which nothing was stored and nothing asked."""
    said = sum(bool(d.said) for t in taken for d in t.differences)
    return Share(sum(len(t.silently_lost) for t in taken), said)


def asked(taken: Sequence[Taken]) -> Share:
    """Phrases that raised a query."""
    return Share(sum(t.asked for t in taken), len(taken))


COLUMNS: tuple[tuple[str, Callable[[Sequence[Taken]], Share]], ...] = (
    ("phrases right", phrase_right),
    ("values right", values_right),
    ("wrong, not asked", silently_wrong),
    ("lost, not asked", silently_lost),
    ("asked", asked),
)


def tables(rows: Sequence[Row], engines: Sequence[str], title: str) -> list[Table]:
    """All tables, the most important first. Shares are per cent with 95 % intervals."""
    phrases = [r for r in rows if r.sound.for_us]
    conditions = list(dict.fromkeys(r.sound.condition for r in phrases))
    found = [_by_engine(rows, engines, title)]
    for engine in engines:
        found.append(_by_kind(taken_of(rows, engine), engine))
        groups = {c: [r for r in phrases if r.sound.condition == c] for c in conditions}
        found.append(grouped(groups, engine, "condition"))
    first = engines[0]
    voices = sorted({r.sound.voice for r in phrases})
    by_voice = {v: [r for r in phrases if r.sound.voice == v] for v in voices}
    found.append(grouped(by_voice, first, "voice"))
    found.append(reliability_table(taken_of(rows, first), first))
    found.append(threshold_table(taken_of(rows, first), first))
    found.append(_confusions(taken_of(rows, first), first))
    return found


def _by_engine(rows: Sequence[Row], engines: Sequence[str], title: str) -> Table:
    table = Table(title=title, title_justify="left")
    for name in ("engine", *(name for name, _ in COLUMNS), "s/s"):
        table.add_column(name)
    for name in ("chatter stored /h", "asked /h"):
        table.add_column(name)
    for engine in engines:
        taken = taken_of(rows, engine)
        shares = [str(measure(taken)) for _, measure in COLUMNS]
        table.add_row(engine, *shares, _pace(rows, engine), *_chatter(rows, engine))
    return table


def _pace(rows: Sequence[Row], engine: str) -> str:
    """Seconds of recognition a second of sound."""
    timed = [(t.took_s, r.seconds) for r in rows if (t := r.taken.get(engine)) and t.took_s]
    return f"{sum(a for a, _ in timed) / sum(b for _, b in timed):.2f}" if timed else "-"


def false_findings(rows: Sequence[Row], engine: str) -> tuple[int, int, float]:
    """Sounds that are not for us: stored as findings or commands, asked about, and hours of it."""
    others = [r for r in rows if not r.sound.for_us and engine in r.taken]
    fates = Counter(r.taken[engine].fate for r in others)
    stored = sum(r.taken[engine].stored for r in others)
    return stored, fates[Fate.ASKED], sum(r.seconds for r in others) / SECONDS_AN_HOUR


def _chatter(rows: Sequence[Row], engine: str) -> tuple[str, str]:
    stored, queries, hours = false_findings(rows, engine)
    return per_hour(stored, hours), per_hour(queries, hours)


def _by_kind(taken: Sequence[Taken], engine: str) -> Table:
    table = Table(title=f"{engine}, by kind of value", title_justify="left")
    for name in ("kind", "said", "right", "wrong, not asked"):
        table.add_column(name)
    for kind in KINDS:
        right = values_right(taken, kind)
        if right.total:
            wrong = silently_wrong(taken, kind)
            table.add_row(kind, str(right.total), str(right), str(wrong))
    return table


def grouped(groups: dict[str, list[Row]], engine: str, what: str) -> Table:
    """Phrases of each group; ``what``: by what they are grouped."""
    table = Table(title=f"{engine}, by {what}", title_justify="left")
    for name in (what, "phrases", *(name for name, _ in COLUMNS)):
        table.add_column(name)
    for name, rows in groups.items():
        taken = taken_of(rows, engine)
        table.add_row(name, str(len(taken)), *(str(measure(taken)) for _, measure in COLUMNS))
    return table


def _confusions(taken: Sequence[Taken], engine: str) -> Table:
    """What was taken for what, most often first; in brackets how often it was not asked about."""
    table = Table(title=f"{engine}, most frequent confusions", title_justify="left")
    for name in ("kind", "said as heard, how often (not asked)"):
        table.add_column(name)
    silent = Counter((d.kind, d.said, d.heard) for t in taken for d in t.silently_wrong)
    silent.update((d.kind, d.said, d.heard) for t in taken for d in t.silently_lost)
    every = Counter((d.kind, d.said, d.heard) for t in taken for d in t.differences if not d.right)
    for kind in KINDS:
        of_kind = [(c, n) for c, n in every.most_common() if c[0] == kind][:LISTED_CONFUSIONS]
        if of_kind:
            words = [
                f"{said or 'nothing'} as {heard or 'nothing'} {n} ({silent[kind, said, heard]})"
                for (_, said, heard), n in of_kind
            ]
            table.add_row(kind, "; ".join(words))
    return table


def error_lines(rows: Iterable[Row], engine: str) -> list[str]:
    """Every sound not taken as it should be: what was said, heard, heard freely, and its fate."""
    lines: list[str] = []
    for row in rows:
        taken = row.taken.get(engine)
        if taken is None:
            continue
        should_be_heard = row.sound.for_us
        if taken.all_right if should_be_heard else not (taken.stored or taken.asked):
            continue
        mark = "SILENT " if taken.silently_wrong or (not should_be_heard and taken.stored) else ""
        lost = "LOST " if taken.silently_lost and not mark else ""
        lines += [
            f"{mark}{lost}{taken.fate} {taken.confidence:.2f} {taken.outcome}"
            f" [{row.sound.voice}, {row.sound.condition}]",
            f"    said  {row.sound.words or '(nothing for us)'}",
            f"    heard {taken.heard}",
            f"    free  {taken.free}",
        ]
        if taken.reasons:
            lines.append(f"    why   {'; '.join(taken.reasons)}")
    return lines
