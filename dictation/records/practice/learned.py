"""What people's corrections say of the hearing: which values were taken for which, and which spoken
forms the word list lacks. Figures only; nothing is changed by them.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterator
from dataclasses import dataclass

from dictation.session.events import Inserted
from dictation.session.review_events import Reheard, Rephrased, Undone
from dictation.session.visit import Deed, Place, Visit
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
    for deed in visit.deeds:
        if deed.undone or isinstance(deed.event, Undone | Reheard):
            continue
        gone, new = _gone_and_new(deed)
        for was in gone:
            now = next((f for f in new if type(f) is type(was)), None)
            if now is None:
                yield Misheard(FINDING_NAMES[type(was)], "heard", "was not there")
                continue
            new.remove(now)
            yield from _fields(was, now)
        for added in new:
            yield Misheard(FINDING_NAMES[type(added)], "nothing", "was missed")


def missing_forms(visit: Visit) -> Iterator[MissingForm]:
    """Spoken forms that a practice may want in its word list, one correction at a time.

    Offered only where one run of unknown words was heard, and one term was typed that the words
    heard do not hold: then they stand for each other.
    """
    for deed in visit.deeds:
        event = deed.event
        if deed.undone or not isinstance(event, Rephrased | Inserted):
            continue
        number = event.utterance if isinstance(event, Rephrased) else event.of_utterance
        utterance = None if number is None else visit.utterance(number)
        if utterance is None or (isinstance(event, Inserted) and not _touched(deed)):
            continue
        heard, typed = normalise(utterance.text), spelled_out(event.text)
        runs = _unknown_runs(heard)
        terms = _terms(typed) - _terms(heard) - UNITS
        if len(runs) == 1 and len(terms) == 1:
            yield MissingForm(next(iter(terms)), runs[0])


def _touched(deed: Deed) -> bool:
    return any(after is not None for _, _, after in deed.findings)


def _gone_and_new(deed: Deed) -> tuple[list[Finding], list[Finding]]:
    gone: list[Finding] = []
    new: list[Finding] = []
    for _, before, after in deed.findings:
        was, now = _value(before), _value(after)
        if was == now:
            continue
        if was is not None:
            gone.append(was)
        if now is not None:
            new.append(now)
    return gone, new


def _value(place: Place | None) -> Finding | None:
    if place is None or place[1].state is FindingState.WITHDRAWN:
        return None
    return place[1].finding


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
