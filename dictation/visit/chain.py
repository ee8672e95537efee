"""Digests of the entries of a journal: rot is noticed by them, and words can go without a trace.

``chain`` of an entry is SHA-256 over that of the entry before, its plain fields, and the digests of
its words; so words that were forgotten leave the chain whole. Their digests are made with a salt
that is forgotten with them: a short phrase could be guessed from a digest without one.
"""

from __future__ import annotations

import hashlib
import json
import secrets
from dataclasses import dataclass
from typing import Any

TABLE = (
    "CREATE TABLE IF NOT EXISTS digest ("
    " seq INTEGER PRIMARY KEY,"
    " salt TEXT,"
    " evidence TEXT NOT NULL,"
    " facts TEXT NOT NULL,"
    " chain TEXT NOT NULL,"
    " rest TEXT"
    ") STRICT"
)
"""``rest``: of an entry whose words were forgotten (it has no salt) the digest of what is left."""

NO_DIGESTS = (
    "(SELECT NULL AS seq, NULL AS salt, NULL AS evidence, NULL AS facts, NULL AS chain,"
    " NULL AS rest WHERE 0)"
)
"""Stands for the table in a journal that has none."""


@dataclass(frozen=True, slots=True)
class Row:
    """An entry as it stands in the file."""

    seq: int
    at: str
    input: str
    who: str
    why: str
    phrase: int | None
    evidence: str
    facts: str


@dataclass(frozen=True, slots=True)
class Seal:
    """The digests of an entry; see ``TABLE``."""

    salt: str | None
    evidence: str
    facts: str
    chain: str
    rest: str | None = None


def sealed(row: Row, before: str, salt: str | None = None) -> Seal:
    """The digests of a new entry behind the one whose chain is ``before``; "" for the first."""
    salt = salt or secrets.token_hex(16)
    evidence = _digest(salt, row.why, row.evidence)
    facts = _digest(salt, row.facts)
    return Seal(salt, evidence, facts, _chain(row, evidence, facts, before))


def rest_of(left: Row) -> str:
    """The digest of an entry of which only this stays."""
    return _digest(left.why, left.evidence, left.facts)


def damage_of(row: Row, seal: Seal | None, before: str | None) -> str | None:
    """What is wrong with an entry, None where nothing is: "facts", or "evidence" alone.

    ``before``: the last chain before it. An entry without digests was written by an earlier
    version, and is not called damaged; where its digests were lost, the chain behind it breaks.
    """
    if seal is None:
        return None
    if _chain(row, seal.evidence, seal.facts, before or "") != seal.chain:
        return "facts"
    return damage_of_words(row, seal)


def damage_of_words(row: Row, seal: Seal | None) -> str | None:
    """As ``damage_of``, of an entry alone: whether it follows from the one before is not asked."""
    if seal is None:
        return None
    if seal.salt is None:
        return None if rest_of(row) == seal.rest else "facts"
    if _digest(seal.salt, row.facts) != seal.facts:
        return "facts"
    whole = _digest(seal.salt, row.why, row.evidence) == seal.evidence
    return None if whole else "evidence"


def _chain(row: Row, evidence: str, facts: str, before: str) -> str:
    return _digest(before, row.seq, row.at, row.input, row.who, row.phrase, evidence, facts)


def _digest(*parts: Any) -> str:
    return hashlib.sha256(json.dumps(parts).encode()).hexdigest()
