"""The answers that a query offers, and what taking one of them does."""

from __future__ import annotations

from dataclasses import dataclass

from grammar.findings import Finding, Said


@dataclass(frozen=True, slots=True)
class Keep:
    """Take the findings of the phrase as they were recorded."""


@dataclass(frozen=True, slots=True)
class Drop:
    """Withdraw the findings of the phrase."""


@dataclass(frozen=True, slots=True)
class Instead:
    """Withdraw the findings of the phrase and do what is said here, as sure."""

    said: tuple[Said, ...]


@dataclass(frozen=True, slots=True)
class SetTo:
    """Give findings other values: pairs of a finding's number and its new value."""

    changes: tuple[tuple[int, Finding], ...]
    withdraw: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class TakeBack:
    """Take an earlier phrase back."""

    phrase: int


@dataclass(frozen=True, slots=True)
class JoinBack:
    """The exam was opened by mistake: its findings belong to the exam before it."""

    exam: int
    into: int


Effect = Keep | Drop | Instead | SetTo | TakeBack | JoinBack


@dataclass(frozen=True, slots=True)
class Alternative:
    """One answer to a query: its words, and what taking it does."""

    words: str
    effect: Effect
