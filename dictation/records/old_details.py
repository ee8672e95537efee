"""The cells of a row of findings.csv as they were until November 2026, put into today's form.

``detail`` was words then: 'corpus_luteum; count 2; by 9 mm; unit assumed'. Only read, so that files
that were exported then can still be imported.
"""

from __future__ import annotations

import re

from grammar.fields import main_field
from grammar.findings import Animal, Conceptus, Note, Plan, Seen

_PARTS = (
    ("tag (.+)", r"tag=\1"),
    ("electronic (.+)", r"electronic_id=\1"),
    ("on the list", "listed=true"),
    ("not listed", "listed=false"),
    ("count (.+)", r"count=\1"),
    ("by (.+) mm", r"second_size_mm=\1"),
    ("cavity (.+) mm", r"cavity=true; cavity_mm=\1"),
    ("wall (.+) mm", r"wall_mm=\1"),
    ("(.+) wall", r"wall=\1"),
    ("unit assumed", "unit_assumed=true"),
    ("to (.+) days", r"age_to_days=\1"),
    ("about", "approximate=true"),
    ("said in (.+)", r"stated_as=\1"),
    ("status assumed", "status_assumed=true"),
    ("no (cavity|heartbeat|movement|loss)", r"\1=false"),
    ("(cavity|heartbeat|movement|loss)", r"\1=true"),
    ("membranes (.+)", r"membranes=\1"),
    ("not seen", "seen=false"),
    ("on (.+)", r"on_date=\1"),
)
"""A part of the old words, and the pairs of today that say the same."""

_BARE = {Animal: "animal_class", Conceptus: "arrangement", Seen: "remark", Plan: "class"}
"""What a part was that is a word alone, and not the first."""


def is_old(kind: type, detail: str, unit: str) -> bool:
    """Whether a row is of the old form. The words of an old note may hold an equals sign."""
    first, _, _ = detail.partition("; ")
    words = "=" not in first if kind is not Note else not detail.startswith("text=")
    return unit.startswith("of ") or (bool(detail) and words)


def renewed(kind: type, detail: str, unit: str) -> tuple[str, str]:
    """Detail and unit of an old row as they are written today."""
    if unit.startswith("of "):
        return f"scale={unit.removeprefix('of ')}", "score"
    if kind is Note:
        return f"text={detail}", unit
    parts = detail.split("; ")
    main = main_field(kind)
    head = [f"{main}={parts.pop(0)}"] if main is not None else []
    return "; ".join((*head, *(_renewed(kind, part) for part in parts))), unit


def _renewed(kind: type, part: str) -> str:
    for words, pairs in _PARTS:
        found = re.fullmatch(words, part)
        if found is not None:
            return found.expand(pairs)
    return f"{_BARE[kind]}={part}" if kind in _BARE else part
