"""The model's token table.

Format of ``tokenizer.bin``: for each token its length and then its bytes. A length under 128 is one
byte; a longer one is two bytes, low seven bits first with the top bit set. The order is the token's
number. U+2581 stands for a blank, as in sentencepiece; tokens 3 to 258 are single bytes.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from dictation.errors import MissingError

UNKNOWN, BEGIN, END = 0, 1, 2
_BLANK = "\u2581".encode()
_LONG = 128

MODEL_FOLDER_VARIABLE = "HORNSWEEP_MODEL"
REMEDY = f"install hornsweep anew, or name another folder with --model or {MODEL_FOLDER_VARIABLE}"
"""What to do about a model of which something is missing or damaged."""


@dataclass(frozen=True, slots=True)
class TokenTable:
    """Token number to its bytes, blanks as spaces. ``special``: tokens that are no text."""

    pieces: tuple[bytes, ...]
    special: frozenset[int]

    def text(self, tokens: list[int] | tuple[int, ...]) -> str:
        """The text of tokens, without the special ones and outer blanks."""
        raw = b"".join(self.pieces[t] for t in tokens if t not in self.special)
        return raw.decode("utf-8", errors="replace").strip()


def read_token_table(path: Path) -> TokenTable:
    """Read ``tokenizer.bin``; MissingError when it is cut short or no token table."""
    raw = path.read_bytes()
    pieces: list[bytes] = []
    at = 0
    while at < len(raw):
        length = raw[at]
        at += 1
        if length >= _LONG and at < len(raw):
            length = length - _LONG + _LONG * raw[at]
            at += 1
        if at + length > len(raw):
            raise damaged(path)
        pieces.append(raw[at : at + length].replace(_BLANK, b" "))
        at += length
    if len(pieces) <= END or pieces[BEGIN] != b"<s>" or pieces[END] != b"</s>":
        raise damaged(path)
    return TokenTable(tuple(pieces), _special(pieces))


def _special(pieces: list[bytes]) -> frozenset[int]:
    """Control tokens, and byte tokens for which the table also has a proper piece.

    The model writes 'a' as its piece, never as the byte token; leaving both would only give the
    search two spellings of one text.
    """
    last = {piece: number for number, piece in enumerate(pieces)}
    return frozenset(
        number
        for number, piece in enumerate(pieces)
        if number <= END or not piece or piece.startswith(b"<<ST_") or last[piece] != number
    )


def damaged(path: Path) -> MissingError:
    """The error for a file of a model that cannot be read."""
    return MissingError(
        f"the speech model file {path} cannot be read (damaged or cut short); {REMEDY}"
    )
