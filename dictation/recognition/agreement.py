"""How far the guided words agree with the free hearing of the same sound.

The free hearing knows nothing of cattle: it writes 'left over E C L' for 'left ovary CL'. But where
words were left out or put in, it shows stretches of letters that the guided words do not have. So
both are reduced to a skeleton in which letters that sound alike are one, and compared.
"""

from __future__ import annotations

import difflib
import re

from dictation.recognition.spoken import said_words

_SOFT = re.compile(r"[aeiouyhw]+")
_ALIKE = str.maketrans("czdbgv", "kstpkf")


def skeleton(normal: str) -> str:
    """Letters of a normalised text as they sound, numbers spelt out, vowels all one."""
    letters = "".join(word for part in normal.split() for word in said_words(part))
    return _SOFT.sub("a", letters).translate(_ALIKE)


def unmatched_letters(guided: str, free: str) -> int:
    """Longest stretch of the free hearing's skeleton that the guided words do not account for."""
    mine, theirs = skeleton(guided), skeleton(free)
    blocks = difflib.SequenceMatcher(None, mine, theirs, autojunk=False).get_matching_blocks()
    longest, at = 0, 0
    for block in blocks:
        longest = max(longest, block.b - at)
        at = block.b + block.size
    return longest


def similarity(guided: str, free: str) -> float:
    """Share of the two skeletons' letters that match, 0 to 1."""
    matcher = difflib.SequenceMatcher(None, skeleton(guided), skeleton(free), autojunk=False)
    return matcher.ratio()
