"""An approved exam keeps what it was approved with; what is reckoned now stands beside it."""

from __future__ import annotations

from dataclasses import fields

from grammar.exam import Approved, Flag, Severity
from grammar.figures import AgeSummary
from grammar.wording import spaced

SOURCE = "what was approved, beside what this version reckons"


def beside_approved(approved: Approved, now: tuple[Flag, ...], age: AgeSummary) -> tuple[Flag, ...]:
    """The flags of an approved exam: those it was approved with, what is new, and what differs.

    ``now``, ``age``: flags and figures as they are reckoned now.
    """
    kept = {(flag.rule, flag.severity) for flag in approved.flags}
    new = tuple(flag for flag in now if (flag.rule, flag.severity) not in kept)
    return (*approved.flags, *new, *_otherwise(approved, now, age))


def _otherwise(approved: Approved, now: tuple[Flag, ...], age: AgeSummary) -> tuple[Flag, ...]:
    told = [
        f"{spaced(name)} {_said(was)}, now {_said(is_now)}"
        for name, was, is_now in _differences(approved.age, age)
    ]
    rules = {flag.rule for flag in now}
    gone = dict.fromkeys(f.rule for f in approved.flags if f.rule not in rules)
    told += [f"'{spaced(rule)}' is no longer raised" for rule in gone]
    if not told:
        return ()
    why = (
        f"Approved by {approved.who} with {'; '.join(told)}. What was approved stands; look again"
        " and approve anew if it should not."
    )
    figures = tuple(
        (name, f"{_said(was)} / {_said(is_now)}")
        for name, was, is_now in _differences(approved.age, age)
    )
    return (Flag("reckoned_otherwise", Severity.NOTE, why, SOURCE, figures),)


def _differences(was: AgeSummary, now: AgeSummary) -> list[tuple[str, object, object]]:
    names = [field.name for field in fields(AgeSummary) if field.name != "due"]
    pairs = ((name, getattr(was, name), getattr(now, name)) for name in names)
    return [(name, one, other) for name, one, other in pairs if one != other]


def _said(value: object) -> str:
    return "nothing" if value is None else str(value)
