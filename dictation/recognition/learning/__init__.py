"""Teaching the speech model: its network, one step of learning, the way back into its files.

In: a model folder, sound, and the words said in it. Out: a folder of the same kind with other
numbers in it. Needs the extra ``learn``; nothing that listens imports this.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

FIRST_MERGED = 259  # before it: control tokens and single bytes


@dataclass(frozen=True, slots=True)
class How:
    """What moves, and how far.

    ``moving``: beginnings of the names of the weights that move; ``rate``: of learning, at its
    height; ``rank``: of the low-rank additions, 0 for the weights themselves; ``teacher``: weight
    of the teacher's opinion beside that of the words; ``warm_up``: steps until the rate is there.
    """

    moving: tuple[str, ...]
    rate: float
    rank: int = 0
    teacher: float = 0.5
    warm_up: int = 150


class Pieces:
    """Text to the model's tokens, for training targets; listening never needs this direction.

    ``table``: a sentencepiece byte-pair vocabulary in token order, blanks as spaces. Neighbours are
    joined as long as the joined text is a token, the token with the smallest number first.
    """

    def __init__(self, table: Sequence[bytes]) -> None:
        self.table = tuple(table)
        self._number: dict[bytes, int] = {}
        for number, piece in enumerate(table):
            if number >= FIRST_MERGED:
                self._number.setdefault(piece, number)

    def encode(self, text: str) -> list[int]:
        """Tokens of a text, written after a blank as the model writes it."""
        parts = [c.encode() for c in " " + text]
        while len(parts) > 1:
            joined = [self._number.get(a + b) for a, b in pairwise(parts)]
            ranked = [(n, i) for i, n in enumerate(joined) if n is not None]
            if not ranked:
                break
            at = min(ranked)[1]
            parts[at : at + 2] = [parts[at] + parts[at + 1]]
        return [t for part in parts for t in self._tokens(part)]

    def _tokens(self, part: bytes) -> list[int]:
        number = self._number.get(part)
        return [number] if number is not None else [3 + byte for byte in part]

    def decode(self, tokens: Sequence[int]) -> str:
        """Text of tokens, without outer blanks."""
        raw = b"".join(self.table[t] for t in tokens if t > 2)
        return raw.decode("utf-8", errors="replace").strip()
