"""Numbers outside the range of their field."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeVar

from grammar.facts import ExamFacts
from grammar.fields import numbers_of, range_of
from grammar.findings import Finding
from grammar.plausible import Range

F = TypeVar("F", bound=Finding)


def outside(facts: ExamFacts, kind: type[F]) -> Iterator[tuple[int, F, float, Range]]:
    """Every number of the findings of a type, whichever field it stands in, that lies outside."""
    for number, finding in facts.of(kind):
        for field, value in numbers_of(finding):
            limits = range_of(finding, field)
            if limits is not None and not limits.holds(value):
                yield number, finding, value, limits
