"""Text that fits its width whole: shortened by the trade's own short words, then wrapped.

A value is never cut off: what does not fit on a line goes on on the next.
"""

from __future__ import annotations

import re
import textwrap

from rich.text import Text

from dictation.console.safe import safe

SHORTER = {
    "corpora lutea": "CLs",
    "corpus luteum": "CL",
    "corpus haemorrhagicum": "CH",
    "follicular": "foll.",
    "follicles": "foll.",
    "follicle": "foll.",
    "with a cavity": "with cavity",
    "crown rump length": "crown rump",
}
"""Words for narrow places. CL and CH are common practice, no source; the rest is plain English."""


_UNIT = re.compile(r"(?<=\d) mm\b")
_TOGETHER = "\N{NO-BREAK SPACE}"
"""A number is not parted from its unit."""


def shorter(text: str) -> str:
    """The same in fewer letters; numbers stay as they are."""
    for words, short in SHORTER.items():
        text = re.sub(rf"\b{words}\b", short, text)
    return text


def fitted(text: str, width: int, style: str = "", first: Text | None = None) -> list[Text]:
    """Lines of at most ``width``, the later ones indented behind ``first``, which stands before."""
    head = Text() if first is None else first
    indent = min(head.cell_len, width // 3)
    whole = safe(text)
    if head.cell_len + len(whole) > width:
        whole = shorter(whole)
    wrapped = textwrap.wrap(
        _UNIT.sub(f"{_TOGETHER}mm", whole),
        width,
        initial_indent=" " * head.cell_len,
        subsequent_indent=" " * indent,
        break_on_hyphens=False,
    )
    wrapped = [line.replace(_TOGETHER, " ") for line in wrapped]
    lines = [Text(line, style, no_wrap=True) for line in wrapped] or [Text(no_wrap=True)]
    lines[0] = Text.assemble(head, (lines[0].plain[head.cell_len :], style), no_wrap=True)
    return lines
