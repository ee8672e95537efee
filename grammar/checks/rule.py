"""What a rule is: a small function over the facts of an exam, with its severity and its source."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TypeAlias

from grammar.exam import Flag, Severity
from grammar.facts import ExamFacts
from grammar.plausible import COMMON_PRACTICE

__all__ = ["COMMON_PRACTICE", "Family", "Raised", "Rule"]


@dataclass(frozen=True, slots=True)
class Raised:
    """What a rule found: the sentence for the vet, its figures and the findings concerned."""

    why: str
    figures: tuple[tuple[str, str], ...] = ()
    findings: tuple[int, ...] = ()


Find: TypeAlias = Callable[[ExamFacts], Iterator[Raised]]


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule of the second colleague at the crush.

    ``identifier`` is in plain words; ``description`` says what is asked and when; ``source`` is
    author, year and table, or 'common practice, no source'. ``about``: types of findings without
    any of which it cannot be raised; empty: it may be raised of any exam.
    """

    identifier: str
    family: str
    severity: Severity
    description: str
    source: str
    find: Find
    about: frozenset[type] = frozenset()

    def flag(self, raised: Raised, facts: ExamFacts) -> Flag:
        """The flag of what this rule found; a finding that is itself queried is said to be."""
        why, figures = raised.why, raised.figures
        doubtful = facts.queried.intersection(raised.findings)
        if doubtful:
            why += " (A finding this rests on is itself still queried.)"
            heard = tuple(facts.queried_words[number] for number in sorted(doubtful))
            figures = (*figures, ("still queried", "; ".join(heard)))
        numbers = tuple(sorted(set(raised.findings)))
        return Flag(self.identifier, self.severity, why, self.source, figures, numbers)


class Family(list[Rule]):
    """The rules of one family, in the order in which they are written and their flags come out.

    A rule is its function: the name is its identifier, the docstring its description. ``about`` is
    that of its rules where they name no other.
    """

    def __init__(self, name: str, *about: type) -> None:
        super().__init__()
        self.name = name
        self.about = frozenset(about)

    def note(self, source: str, *about: type) -> Callable[[Find], Find]:
        """A rule whose flags are worth knowing, by this source."""
        return self._rule(Severity.NOTE, source, about)

    def query(self, source: str, *about: type) -> Callable[[Find], Find]:
        """A rule whose flags a person must look at, by this source."""
        return self._rule(Severity.QUERY, source, about)

    def stop(self, source: str, *about: type) -> Callable[[Find], Find]:
        """A rule whose flags must be said twice, by this source."""
        return self._rule(Severity.STOP, source, about)

    def _rule(
        self, severity: Severity, source: str, about: tuple[type, ...]
    ) -> Callable[[Find], Find]:
        kinds = frozenset(about) or self.about

        def add(find: Find) -> Find:
            description = " ".join((find.__doc__ or "").split())
            self.append(Rule(find.__name__, self.name, severity, description, source, find, kinds))
            return find

        return add
