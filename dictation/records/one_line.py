"""Text from outside as one line of visible characters, for pages, pictures and calendars."""

from __future__ import annotations

import unicodedata

SHOWN_INSTEAD = "\N{REPLACEMENT CHARACTER}"

_HIDDEN = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})
"""Unicode categories that break files, turn the writing direction or cannot be seen."""


def one_line(text: str) -> str:
    """Runs of white space become one space; what cannot be seen is shown as a mark."""
    flat = " ".join(text.split())
    return "".join(SHOWN_INSTEAD if unicodedata.category(c) in _HIDDEN else c for c in flat)
