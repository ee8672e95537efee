"""Text that came from outside, made harmless for a terminal."""

from __future__ import annotations

import unicodedata
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.text import Text

_SHOWN_INSTEAD = "\N{REPLACEMENT CHARACTER}"

_HIDDEN = frozenset({"Cc", "Cf", "Cs", "Co", "Zl", "Zp"})
"""Unicode categories that move the cursor, turn the writing direction or cannot be seen."""


def safe(text: str) -> str:
    """One line without control characters; each is shown as a replacement character."""
    flat = text.replace("\r\n", " ").replace("\n", " ").replace("\t", " ")
    return "".join(_SHOWN_INSTEAD if unicodedata.category(c) in _HIDDEN else c for c in flat)


def plain(text: str, style: str = "") -> Text:
    """Outside text as rich text: square brackets in it are no markup."""
    from rich.text import Text

    return Text(safe(text), style=style)
