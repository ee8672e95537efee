"""A picture with what is written under it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Picture:
    """``svg``: written by us, safe to put into a page as it is. ``name``: its kind, one word."""

    name: str
    title: str
    svg: str
    words: str = ""
