"""What people's corrections say of the hearing: which values were taken for which, and which spoken
forms the word list lacks. Figures only; nothing is changed by them.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from dictation.decide.taking_back import is_taken_back
from dictation.visit.facts import FindingSet
from dictation.visit.inputs import (
    INPUTS,
    PEOPLES,
    EntryTakenBack,
    PhraseHeardAgain,
    PhraseInserted,
    PhrasePutRight,
)
from dictation.visit.parts import Placed
from dictation.visit.state import Act, Visit
from grammar.exam import FindingState
from grammar.findings import FINDING_NAMES, Finding, plain
from grammar.language import grammar_text
from grammar.normalise import normalise
from grammar.short_forms import spelled_out
from grammar.vocabulary import built_in

NOT_MISHEARD = frozenset({"listed", "unit_assumed", "tag_alone", "status_assumed"})
"""Fields that say how a finding was recorded, not what was heard."""

UNITS = frozenset({"millimetres", "centimetres", "days", "weeks", "months"})
"""Terms that typing in short adds by itself."""


CORRECTIONS = PEOPLES - {INPUTS[PhraseHeardAgain], INPUTS[EntryTakenBack]}
"""Words of what people put right; the machine's second hearing and taking back say nothing."""

Typed = tuple[int, PhrasePutRight | PhraseInserted]
"""What a person typed, with the number of its entry."""


@dataclass(frozen=True, slots=True)
class Misheard:
    """One value that a person changed: 'ovary size_mm', heard as 30, right is 13."""

    what: str
    heard: str
    right: str


@dataclass(frozen=True, slots=True)
class MissingForm:
    """Words that were heard and are in no rule, and the term that a person typed for them."""

    term: str
    form: str


def misheard(visit: Visit) -> Iterator[Misheard]:
    """Every value that people changed, in the order of their corrections that stand."""
    for seq in sorted(visit.acts):
        act = visit.acts[seq]
        if act.kind not in CORRECTIONS or is_taken_back(visit, seq):
            continue
        gone, new = _gone_and_new(act)
        for was in gone:
            now = next((f for f in new if type(f) is type(was)), None)
            if now is None:
                yield Misheard(FINDING_NAMES[type(was)], "heard", "was not there")
                continue
            new.remove(now)
            yield from _fields(was, now)
        for added in new:
            yield Misheard(FINDING_NAMES[type(added)], "nothing", "was missed")


def missing_forms(visit: Visit, typed: Iterable[Typed]) -> Iterator[MissingForm]:
    """Spoken forms that a practice may want in its word list, one correction at a time.

    ``typed``: what people typed in this visit, as ``Journal.evidence`` gives it. Offered only where
    one run of unknown words was heard, and one term was typed that the words heard do not hold:
    then they stand for each other.
    """
    for seq, given in typed:
        act = visit.acts[seq]
        phrase = visit.phrase(act.phrase)
        if phrase is None or is_taken_back(visit, seq):
            continue
        heard, right = normalise(phrase.text), spelled_out(given.text)
        runs = _unknown_runs(heard)
        terms = _terms(right) - _terms(heard) - UNITS
        if len(runs) == 1 and len(terms) == 1:
            yield MissingForm(next(iter(terms)), runs[0])


def _gone_and_new(act: Act) -> tuple[list[Finding], list[Finding]]:
    gone: list[Finding] = []
    new: list[Finding] = []
    set_by_it = [fact for fact in act.facts if isinstance(fact, FindingSet)]
    before = {fact.number: fact.was for fact in reversed(set_by_it)}
    after = {fact.number: fact.now for fact in set_by_it}
    for number, then in after.items():
        was, now = _value(before[number]), _value(then)
        if was == now:
            continue
        if was is not None:
            gone.append(was)
        if now is not None:
            new.append(now)
    return gone, new


def _value(placed: Placed | None) -> Finding | None:
    if placed is None or placed.recorded.state is FindingState.WITHDRAWN:
        return None
    return placed.recorded.finding


def _fields(was: Finding, now: Finding) -> Iterator[Misheard]:
    for field in dataclasses.fields(was):
        heard, right = getattr(was, field.name), getattr(now, field.name)
        if heard != right and field.name not in NOT_MISHEARD:
            yield Misheard(f"{FINDING_NAMES[type(was)]} {field.name}", _said(heard), _said(right))


def _said(value: object) -> str:
    if value is None:
        return "nothing"
    return f"{value:g}" if isinstance(value, float) else str(plain(value))


def _unknown_runs(normal: str) -> list[str]:
    """Runs of words that are in no rule of the grammar."""
    known = set(re.findall(r'"([a-z]+)"', grammar_text()))
    marked = " ".join("|" if w in known or w[0].isdigit() else w for w in normal.split())
    return [run.strip() for run in marked.split("|") if run.strip()]


def _terms(normal: str) -> set[str]:
    """Terms of the vocabulary whose longest spoken forms the words hold."""
    forms = [(form, term) for term, all_forms in built_in().terms.items() for form in all_forms]
    forms.sort(key=lambda pair: -len(pair[0]))
    found: set[str] = set()
    rest = f" {normal} "
    for form, term in forms:
        if f" {form} " in rest:
            found.add(term)
            rest = rest.replace(f" {form} ", " ")
    return found
