"""What many visits say: in calf by service, losses between visits, ages side by side, questions."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from dictation.records.practice.shares import Share

if TYPE_CHECKING:
    import polars as pl

LATE_SERVICES = 4
"""Services from this number on are counted together."""

LONGEST_DAYS = 290
"""An exam later than this is of another pregnancy; the longest breed mean is 288 days."""

AGE_BANDS = ((0, 42), (43, 60), (61, 120), (121, LONGEST_DAYS))
"""Days of pregnancy at the first of two exams; losses are most frequent to day 42 (NDSU 2018)."""

MOST_NAMED = 20


@dataclass(frozen=True, slots=True)
class Counted:
    """A share of one group: a service number, a sire, an inseminator, a span of days."""

    group: str
    share: Share


@dataclass(frozen=True, slots=True)
class Agreement:
    """Stated less measured age in days. Nineteen in twenty pairs lie within ``low`` and ``high``.

    Limits after Bland and Altman 1986, Lancet 327:307-310. ``within``: pairs no further apart than
    the error of the measured age.
    """

    pairs: int
    mean_days: float
    sd_days: float
    within: Share

    @property
    def low(self) -> float:
        """Lower limit of agreement."""
        return self.mean_days - 1.96 * self.sd_days

    @property
    def high(self) -> float:
        """Upper limit of agreement."""
        return self.mean_days + 1.96 * self.sd_days


@dataclass(frozen=True, slots=True)
class Summary:
    """``in_calf``: of services with a clear result, the first such exam of each counting."""

    exams: int
    animals: int
    in_calf: Share
    by_service: tuple[Counted, ...]
    by_sire: tuple[Counted, ...]
    by_inseminator: tuple[Counted, ...]
    losses: tuple[Counted, ...]
    agreement: Agreement | None
    asked: Share
    unsettled: Share


def summarise_practice(frame: pl.DataFrame) -> Summary:
    """The summary of a frame of exams as ``gather`` makes it."""
    import polars as pl

    checked = _checked_services(frame)
    number = pl.col("service_number")
    late = pl.when(number >= LATE_SERVICES).then(LATE_SERVICES).otherwise(number)
    return Summary(
        exams=len(frame),
        animals=frame.select("farm", "tag").drop_nulls().n_unique(),
        in_calf=_share(checked["in_calf"]),
        by_service=_by_service(checked.with_columns(late.alias("service_number"))),
        by_sire=_by(checked, "sire"),
        by_inseminator=_by(checked, "inseminator"),
        losses=_losses(frame),
        agreement=_agreement(frame),
        asked=_share(frame["asked"]),
        unsettled=_share(frame["unsettled"]),
    )


def _share(column: pl.Series) -> Share:
    return Share(int(column.sum()), len(column))


def _checked_services(frame: pl.DataFrame) -> pl.DataFrame:
    """One row a service that was checked: whether she was in calf at the first clear exam of it."""
    import polars as pl

    clear = frame.filter(
        pl.col("status").is_in(["pregnant", "open"]) & pl.col("service_on").is_not_null()
    ).filter(pl.col("tag").is_not_null())
    return (
        clear.sort("on_date", "exam")
        .unique(["farm", "tag", "service_on"], keep="first", maintain_order=True)
        .with_columns((pl.col("status") == "pregnant").alias("in_calf"))
    )


def _by_service(checked: pl.DataFrame) -> tuple[Counted, ...]:
    counted = sorted(_by(checked, "service_number"), key=lambda each: int(each.group))
    return tuple(
        Counted(
            f"{each.group} or later" if int(each.group) == LATE_SERVICES else each.group, each.share
        )
        for each in counted
    )


def _by(checked: pl.DataFrame, column: str) -> tuple[Counted, ...]:
    """Groups by how many services they have, the most first."""
    import polars as pl

    grouped = (
        checked.drop_nulls(column)
        .group_by(column)
        .agg(pl.col("in_calf").sum().alias("hits"), pl.len().alias("total"))
        .sort(["total", column], descending=[True, False])
        .head(MOST_NAMED)
    )
    return tuple(Counted(str(row[0]), Share(row[1], row[2])) for row in grouped.iter_rows())


def _losses(frame: pl.DataFrame) -> tuple[Counted, ...]:
    """Of pregnancies that were looked at again, those lost, by days at the first look."""
    import polars as pl

    pairs = (
        frame.filter(pl.col("tag").is_not_null() & pl.col("status").is_not_null())
        .filter(pl.col("status") != "uncertain")
        .sort("farm", "tag", "on_date", "exam")
        .with_columns(
            pl.col("status").shift(-1).over("farm", "tag").alias("then"),
            pl.col("on_date").shift(-1).over("farm", "tag").alias("then_on"),
        )
        .filter((pl.col("status") == "pregnant") & pl.col("then").is_not_null())
        .filter(pl.col("age_days").is_not_null() & (pl.col("then_on") > pl.col("on_date")))
        .filter(
            pl.col("age_days") + (pl.col("then_on") - pl.col("on_date")).dt.total_days()
            <= LONGEST_DAYS
        )
        .with_columns(pl.col("then").is_in(["open", "lost"]).alias("gone"))
    )
    found = []
    for first, last in AGE_BANDS:
        band = pairs.filter(pl.col("age_days").round().is_between(first, last))
        if len(band):
            found.append(Counted(f"{first} to {last} days", _share(band["gone"])))
    return (Counted("all", _share(pairs["gone"])), *found) if found else ()


def _agreement(frame: pl.DataFrame) -> Agreement | None:
    import polars as pl

    both = frame.drop_nulls(["stated_days", "measured_days"]).with_columns(
        (pl.col("stated_days") - pl.col("measured_days")).alias("difference")
    )
    if len(both) < 2:
        return None
    difference = both["difference"]
    within = difference.abs() <= both["measured_error_days"]
    mean, sd = difference.mean(), difference.std()
    assert isinstance(mean, float)
    assert isinstance(sd, float)
    return Agreement(len(both), mean, sd, _share(within))
