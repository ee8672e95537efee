"""What a rule is: a small function over the facts of an exam, with its severity and its source."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from grammar.exam import Flag, Severity
from grammar.facts import ExamFacts
from grammar.plausible import COMMON_PRACTICE

__all__ = ["COMMON_PRACTICE", "Raised", "Rule"]


@dataclass(frozen=True, slots=True)
class Raised:
    """What a rule found: the sentence for the vet, its figures and the findings concerned."""

    why: str
    figures: tuple[tuple[str, str], ...] = ()
    findings: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule of the second colleague at the crush.

    ``identifier`` is in plain words; ``description`` says what is asked and when; ``source`` is
    author, year and table, or 'common practice, no source'.
    """

    identifier: str
    family: str
    severity: Severity
    description: str
    source: str
    find: Callable[[ExamFacts], Iterable[Raised]]

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
