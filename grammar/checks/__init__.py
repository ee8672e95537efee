"""What a second colleague at the crush would catch: rules over one exam, each with its source.

In: an exam, with its date, what the herd list knows and the animal's earlier exams. Out: flags.
A rule is a function of the facts of an exam; the list below is all of them, in the order in which
their flags come out. Nothing here reads, writes, or knows what day it is.

The tool records and asks; it does not diagnose or prescribe.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import fields, replace

from grammar.checks import (
    ages,
    corpora_lutea,
    course,
    dates,
    fetal_sex,
    history,
    identity,
    ovaries,
    plan,
    pregnancy,
    ranges,
    reach,
    sizes,
    sweep,
    treatment,
    twins,
    uterus,
    viability,
)
from grammar.checks.rule import COMMON_PRACTICE, Rule
from grammar.exam import Approved, Exam, Flag, Severity
from grammar.facts import facts_of
from grammar.figures import AgeSummary
from grammar.summary import reckoned
from grammar.wording import spaced

__all__ = ["COMMON_PRACTICE", "RULES", "Rule", "check_exam", "check_visit", "explain", "said_once"]

RULES: tuple[Rule, ...] = (
    *treatment.RULES,
    *plan.RULES,
    *identity.RULES,
    *pregnancy.RULES,
    *reach.RULES,
    *dates.RULES,
    *ages.RULES,
    *sizes.RULES,
    *viability.RULES,
    *twins.RULES,
    *corpora_lutea.RULES,
    *fetal_sex.RULES,
    *ovaries.RULES,
    *uterus.RULES,
    *history.RULES,
    *course.RULES,
    *ranges.RULES,
    *sweep.RULES,
)

ONCE_A_VISIT = frozenset({"treatment_by_class"})
"""Rules whose words are a caution of the whole visit."""


def check_exam(exam: Exam) -> tuple[Flag, ...]:
    """Every flag of an exam, in the order of ``RULES``. Never raises on an exam of findings.

    An approved exam keeps the flags that it was approved with; what is new comes behind them.
    """
    facts = facts_of(exam if exam.approved is None else replace(exam, approved=None))
    concerned = _about(frozenset(facts.told))
    flags = tuple([rule.flag(raised, facts) for rule in concerned for raised in rule.find(facts)])
    if exam.approved is None:
        return flags
    return _beside_approved(exam.approved, flags, reckoned(facts))


_ABOUT: dict[frozenset[type], tuple[tuple[Rule, ...], tuple[Rule, ...]]] = {}


def _about(said: frozenset[type]) -> tuple[Rule, ...]:
    """The rules that findings of these types can raise, kept as long as the rules are the same."""
    kept = _ABOUT.get(said)
    if kept is None or kept[0] is not RULES:
        mine = tuple(r for r in RULES if not r.about or not r.about.isdisjoint(said))
        kept = _ABOUT[said] = (RULES, mine)
    return kept[1]


def _beside_approved(
    approved: Approved, now: tuple[Flag, ...], age: AgeSummary
) -> tuple[Flag, ...]:
    """What an exam was approved with, what is new, and what is reckoned otherwise ``now``."""
    kept = {(flag.rule, flag.severity) for flag in approved.flags}
    new = tuple(flag for flag in now if (flag.rule, flag.severity) not in kept)
    return (*approved.flags, *new, *_otherwise(approved, now, age))


def _otherwise(approved: Approved, now: tuple[Flag, ...], age: AgeSummary) -> Iterator[Flag]:
    names = [field.name for field in fields(AgeSummary) if field.name != "due"]
    pairs = [(name, getattr(approved.age, name), getattr(age, name)) for name in names]
    differ = [(name, _said(was), _said(is_now)) for name, was, is_now in pairs if was != is_now]
    rules = {flag.rule for flag in now}
    gone = dict.fromkeys(flag.rule for flag in approved.flags if flag.rule not in rules)
    told = [f"{spaced(name)} {was}, now {is_now}" for name, was, is_now in differ]
    told += [f"'{spaced(rule)}' is no longer raised" for rule in gone]
    if told:
        yield Flag(
            "reckoned_otherwise",
            Severity.NOTE,
            f"Approved by {approved.who} with {'; '.join(told)}. What was approved stands; look "
            "again and approve anew if it should not.",
            "what was approved, beside what this version reckons",
            tuple((name, f"{was} / {is_now}") for name, was, is_now in differ),
        )


def _said(value: object) -> str:
    return "nothing" if value is None else str(value)


def check_visit(exams: Sequence[Exam]) -> dict[int, tuple[Flag, ...]]:
    """The flags of each exam of a visit by exam number, the same tag twice among them.

    What is said once a visit stands with the first exam that raises it.
    """
    by_tag: dict[str, list[int]] = {}
    for exam in exams:
        if exam.tag is not None:
            by_tag.setdefault(exam.tag, []).append(exam.number)
    flags = {}
    for exam in exams:
        same = by_tag.get(exam.tag, []) if exam.tag is not None else []
        others = tuple(number for number in same if number != exam.number)
        checked = exam if exam.tag_repeated_in == others else replace(exam, tag_repeated_in=others)
        flags[exam.number] = check_exam(checked)
    return said_once(flags)


def said_once(flags: Mapping[int, tuple[Flag, ...]]) -> dict[int, tuple[Flag, ...]]:
    """The flags of a visit without what an earlier exam already says in the same words."""
    said: set[str] = set()
    left: dict[int, tuple[Flag, ...]] = {}
    for number, raised in flags.items():
        left[number] = tuple(f for f in raised if f.rule not in ONCE_A_VISIT or f.why not in said)
        said |= {flag.why for flag in raised if flag.rule in ONCE_A_VISIT}
    return left


def explain(identifier: str) -> str | None:
    """What a rule asks, how grave it is and who says so; None where there is no such rule."""
    rule = next((rule for rule in RULES if rule.identifier == identifier), None)
    if rule is None:
        return None
    return (
        f"{rule.identifier} ({rule.family}, {rule.severity})\n{rule.description}\n"
        f"Source: {rule.source}"
    )
