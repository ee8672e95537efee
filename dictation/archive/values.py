"""The values that a phrase carries, and how those that were heard compare with those said.

A value is one field of one finding: the tag, the side, the millimetres. Findings said and heard are
paired type by type, those that agree most first; a value is right where the paired finding carries
the same one. 'About', and whether a unit was spoken or assumed, are not counted as values.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

from grammar.findings import Command, Finding, plain

KIND_OF_FIELD: dict[str, str] = {
    "tag": "tag",
    "electronic_id": "tag",
    "side": "side",
    "structure": "structure",
    "state": "structure",
    "name": "structure",
    "quantity": "structure",
    "size_mm": "millimetres",
    "second_size_mm": "millimetres",
    "cavity_mm": "millimetres",
    "wall_mm": "millimetres",
    "depth_mm": "millimetres",
    "age_days": "days",
    "age_to_days": "days",
    "in_days": "days",
    "days_ago": "days",
    "on_date": "days",
    "status": "status",
    "sex": "sex",
    "action": "plan",
    "treatment_class": "plan",
    "count": "count",
    "arrangement": "count",
    "score": "condition",
    "scale": "condition",
}
"""Kind of value by name of field; every other field that counts is of the kind 'remark'."""

NOT_COUNTED = frozenset(
    {"unit_assumed", "approximate", "stated_as", "status_assumed", "tag_alone", "listed", "animal"}
)


@dataclass(frozen=True, slots=True)
class Value:
    """One value of one finding."""

    kind: str
    field: str
    value: str


@dataclass(frozen=True, slots=True)
class Difference:
    """A value said and what was heard in its place: '' where nothing was said or heard."""

    kind: str
    said: str
    heard: str

    @property
    def right(self) -> bool:
        """Whether the value was heard as it was said."""
        return self.said == self.heard

    @property
    def wrong(self) -> bool:
        """Whether a value was heard that was not said."""
        return self.heard not in {"", self.said}

    @property
    def left_out(self) -> bool:
        """Whether a value was said and none heard in its place."""
        return self.heard == "" != self.said


Group = tuple[str, dict[str, Value]]
"""Type of a finding, and its values by field."""


def groups_of(whats: Sequence[Finding | Command]) -> list[Group]:
    """The findings and commands of a phrase with their values."""
    groups: list[Group] = []
    for what in whats:
        groups.append(_group(what))
        if isinstance(what, Command) and what.animal is not None:
            groups.append(_group(what.animal))
    return groups


def compare(
    said: Sequence[Finding | Command], heard: Sequence[Finding | Command]
) -> tuple[Difference, ...]:
    """Every value said or heard, beside what it was heard or said as."""
    left, right = groups_of(said), groups_of(heard)
    candidates = sorted(
        (
            (-_agreement(one, other), abs(i - j), i, j)
            for i, one in enumerate(left)
            for j, other in enumerate(right)
            if one[0] == other[0]
        ),
    )
    partner: dict[int, int] = {}
    for _, _, i, j in candidates:
        if i not in partner and j not in partner.values():
            partner[i] = j
    found: list[Difference] = []
    for i, (_, values) in enumerate(left):
        paired = right[partner[i]][1] if i in partner else {}
        found += _differences(values, paired)
    for j, (_, values) in enumerate(right):
        if j not in partner.values():
            found += _differences({}, values)
    return tuple(found)


def _group(what: Finding | Command) -> Group:
    kind = "command" if isinstance(what, Command) else type(what).__name__
    values: dict[str, Value] = {}
    for field in dataclasses.fields(what):
        held = getattr(what, field.name)
        if held is None or field.name in NOT_COUNTED:
            continue
        values[field.name] = Value(_kind(what, field.name), field.name, str(plain(held)))
    return kind, values


def _kind(what: Finding | Command, field: str) -> str:
    if isinstance(what, Command):
        return {"number": "millimetres", "side": "side"}.get(field, "command")
    return KIND_OF_FIELD.get(field, "remark")


def _agreement(one: Group, other: Group) -> int:
    return sum(value == other[1].get(field) for field, value in one[1].items())


def _differences(said: dict[str, Value], heard: dict[str, Value]) -> list[Difference]:
    fields = [*said, *(f for f in heard if f not in said)]
    return [
        Difference(
            (said.get(f) or heard[f]).kind,
            said[f].value if f in said else "",
            heard[f].value if f in heard else "",
        )
        for f in fields
    ]
