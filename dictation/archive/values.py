"""The values that a phrase carries, and how those that were heard compare with those said.

A value is one field of one finding: the tag, the side, the millimetres. Findings said and heard are
paired type by type, those that agree most first; a value is right where the paired finding carries
the same one. 'About', and whether a unit was spoken or assumed, are not counted as values.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from grammar.findings import Command, Finding, plain

FIELDS_OF_KIND: dict[str, tuple[str, ...]] = {
    "tag": ("tag", "electronic_id"),
    "side": ("side",),
    "structure": ("structure", "state", "name", "quantity"),
    "millimetres": ("size_mm", "second_size_mm", "cavity_mm", "wall_mm", "depth_mm"),
    "days": ("age_days", "age_to_days", "in_days", "days_ago", "on_date"),
    "status": ("status",),
    "sex": ("sex",),
    "plan": ("action", "treatment_class"),
    "count": ("count", "arrangement"),
    "condition": ("score", "scale"),
}
"""Names of fields by kind of value; every other field that counts is of the kind 'remark'."""

OF_COMMANDS = {"number": "millimetres", "side": "side"}
KIND_OF_FIELD = {field: kind for kind, fields in FIELDS_OF_KIND.items() for field in fields}

NOT_COUNTED = frozenset(
    {"unit_assumed", "approximate", "stated_as", "status_assumed", "tag_alone", "listed", "animal"}
)


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


Values = dict[str, tuple[str, str]]
"""The kind and value of each field of a finding that counts."""


def compare(
    said: Sequence[Finding | Command], heard: Sequence[Finding | Command]
) -> tuple[Difference, ...]:
    """Every value said or heard, beside what it was heard or said as."""
    left, right = list(_groups(said)), list(_groups(heard))
    candidates = sorted(
        (-len(one.items() & other.items()), abs(i - j), i, j)
        for i, (type_said, one) in enumerate(left)
        for j, (type_heard, other) in enumerate(right)
        if type_said == type_heard
    )
    partner: dict[int, int] = {}
    for _, _, i, j in candidates:
        if i not in partner and j not in partner.values():
            partner[i] = j
    alone = [values for j, (_, values) in enumerate(right) if j not in partner.values()]
    pairs = [
        (values, right[partner[i]][1] if i in partner else {}) for i, (_, values) in enumerate(left)
    ]
    pairs += [({}, values) for values in alone]
    return tuple(each for pair in pairs for each in _differences(*pair))


def _groups(whats: Sequence[Finding | Command]) -> Iterator[tuple[str, Values]]:
    """The type of each finding or command of a phrase, and its values."""
    for what in whats:
        is_command = isinstance(what, Command)
        values: Values = {}
        for field in dataclasses.fields(what):
            held = getattr(what, field.name)
            if held is not None and field.name not in NOT_COUNTED:
                kinds, other = (OF_COMMANDS, "command") if is_command else (KIND_OF_FIELD, "remark")
                values[field.name] = (kinds.get(field.name, other), str(plain(held)))
        yield "command" if is_command else type(what).__name__, values
        if isinstance(what, Command) and what.animal is not None:
            yield from _groups([what.animal])


def _differences(said: Values, heard: Values) -> Iterator[Difference]:
    nothing = ("", "")
    for field, (kind, _) in {**said, **heard}.items():
        yield Difference(kind, said.get(field, nothing)[1], heard.get(field, nothing)[1])
