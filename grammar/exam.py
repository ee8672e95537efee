"""An exam as checks see it: one animal at one visit, its findings, and what is known beforehand."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from grammar.figures import AgeSummary
from grammar.findings import Finding


class FindingState(StrEnum):
    """How far a finding is settled."""

    ACCEPTED = "accepted"
    QUERIED = "queried"
    CORRECTED = "corrected"
    WITHDRAWN = "withdrawn"


@dataclass(frozen=True, slots=True)
class RecordedFinding:
    """A finding in an exam and where it came from.

    ``number`` is unique in the visit; ``at_s``, ``until_s`` seconds of the visit's audio (None when
    typed); ``heard`` the words; ``confidence`` 0 to 1 (1 for typed words); ``phrase`` the number of
    the phrase that carried it, None where a person put it there.
    """

    number: int
    finding: Finding
    state: FindingState
    heard: str
    at_s: float | None = None
    until_s: float | None = None
    confidence: float = 1.0
    phrase: int | None = None


@dataclass(frozen=True, slots=True)
class Service:
    """One service of an animal. A time with a bull has a ``last_day`` after ``first_day``.

    ``natural``: True of a time with a bull whose end is not known; None otherwise. ``sire_breed``:
    as the herd list has it, else the breed code of the bull.
    """

    first_day: date
    last_day: date | None = None
    sire: str | None = None
    inseminator: str | None = None
    natural: bool | None = None
    sire_breed: str | None = None

    @property
    def single(self) -> bool:
        """Whether it is one day, and no time with a bull."""
        return not self.natural and self.last_day in (None, self.first_day)

    def until(self, on: date) -> date:
        """Its last day up to ``on``: a bull that nobody took out is still there."""
        if self.last_day is None:
            return max(on, self.first_day) if self.natural else self.first_day
        return max(min(self.last_day, on), self.first_day)


LONG_FROM = 8
"""Digits from which on a number is said by its end: official ear tags have nine to fifteen (EU and
UK: two letters and up to twelve; ISO 11784: fifteen), a farm's own numbers six at most (common
practice, no source)."""

FEWEST_DIGITS = 3
"""Digits of an end that names an animal; common practice, no source."""


def digits_of(number: str) -> str:
    """The digits of a number as it is printed: 'DE 01 234 56837' is 0123456837."""
    return re.sub(r"[^0-9]", "", number)


@dataclass(frozen=True, slots=True)
class KnownAnimal:
    """What the herd list knows of an animal. Day of service is day 0.

    ``tag``: what the farm calls her by. ``national``: the number of her official ear tag, as it is
    written, where that is another one. ``pen``: where she stands.
    """

    tag: str
    electronic_id: str | None = None
    breed: str | None = None
    animal_class: str | None = None
    parity: int | None = None
    calved_on: date | None = None
    services: tuple[Service, ...] = ()
    last_status: str | None = None
    national: str | None = None
    pen: str | None = None

    @property
    def long_numbers(self) -> tuple[str, ...]:
        """The digits of all her numbers that are said by their ends."""
        every = (digits_of(n) for n in (self.tag, self.national, self.electronic_id) if n)
        return tuple(dict.fromkeys(digits for digits in every if len(digits) >= LONG_FROM))

    def bears(self, said: str) -> bool:
        """Whether this may be a number of hers: her tag, or the end of a long one."""
        plain = digits_of(said)
        whole = plain.lstrip("0")
        if said == self.tag or (whole and digits_of(self.tag).lstrip("0") == whole):
            return True
        ends = any(long.endswith(plain) for long in self.long_numbers)
        return ends and len(plain) >= FEWEST_DIGITS


class CystDefinition(StrEnum):
    """Which published size a follicle-like structure must reach to be called a cyst."""

    OVER_25_MM = "over_25_mm"
    AT_LEAST_20_MM = "at_least_20_mm"
    OVER_17_MM = "over_17_mm"


@dataclass(frozen=True, slots=True)
class CheckSettings:
    """What a practice may choose; the sources of the defaults stand in the rules that use them.

    ``sexing_from_day``, ``sexing_to_day``: days of pregnancy within which fetal sex is called well.
    ``dry_period_days``: days from drying off to calving.
    """

    cyst_definition: CystDefinition = CystDefinition.OVER_25_MM
    sexing_from_day: int = 56
    sexing_to_day: int = 98
    dry_period_days: int = 60


class Severity(StrEnum):
    """note: worth knowing. query: a person must look. stop: must be said twice."""

    NOTE = "note"
    QUERY = "query"
    STOP = "stop"


@dataclass(frozen=True, slots=True)
class Flag:
    """A check's remark on an exam.

    ``rule``: identifier in plain words; ``why``: a sentence for the vet; ``figures``: the values
    that raised it, name to text; ``source``: author, year, table, or 'common practice, no source';
    ``findings``: numbers of the recorded findings concerned.
    """

    rule: str
    severity: Severity
    why: str
    source: str
    figures: tuple[tuple[str, str], ...] = ()
    findings: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Approved:
    """What an exam was approved with: by whom, its figures and flags, and who reckoned them.

    ``version``: of the program. The figures stay, whatever a later version reckons.
    """

    who: str
    age: AgeSummary
    flags: tuple[Flag, ...] = ()
    version: str = ""


@dataclass(frozen=True, slots=True)
class Exam:
    """One animal at one visit. ``closed``: 'next' or 'close' was said.

    ``tag_repeated_in``: numbers of the other exams of the visit that carry the same tag.
    ``earlier``: exams of the same animal at earlier visits, in any order. ``approved``: as long as
    what a person stood for is what is there.
    """

    number: int
    on_date: date
    tag: str | None = None
    recorded: tuple[RecordedFinding, ...] = ()
    known: KnownAnimal | None = None
    closed: bool = False
    tag_repeated_in: tuple[int, ...] = ()
    herd_list_given: bool = False
    started_at: str | None = None
    open_queries: tuple[str, ...] = field(default=())
    settings: CheckSettings = CheckSettings()
    earlier: tuple[Exam, ...] = ()
    approved: Approved | None = None

    @property
    def standing(self) -> tuple[RecordedFinding, ...]:
        """Findings that count: all but the withdrawn."""
        return tuple(r for r in self.recorded if r.state is not FindingState.WITHDRAWN)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """The findings that count, without their provenance."""
        return tuple(r.finding for r in self.standing)
