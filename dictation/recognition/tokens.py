"""The model's token table, and the tokenizer that the constraint needs made from it.

Format of ``tokenizer.bin``: for each token its length and then its bytes. A length under 128 is one
byte; a longer one is two bytes, low seven bits first with the top bit set. The order is the token's
number. U+2581 stands for a blank, as in sentencepiece; tokens 3 to 258 are single bytes.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from llguidance import LLTokenizer, TokenizerWrapper

from dictation.errors import MissingError

UNKNOWN, BEGIN, END = 0, 1, 2
_BLANK = "\u2581".encode()
_LONG = 128


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
            raise _damaged(path)
        pieces.append(raw[at : at + length].replace(_BLANK, b" "))
        at += length
    if len(pieces) <= END or pieces[BEGIN] != b"<s>" or pieces[END] != b"</s>":
        raise _damaged(path)
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


def _damaged(path: Path) -> MissingError:
    return MissingError(
        f"the speech model file {path} cannot be read (damaged or cut short); reinstall "
        "moonshine-voice or name another folder with --model"
    )


class _Tokens:
    """The attributes that TokenizerWrapper asks for."""

    def __init__(self, table: TokenTable) -> None:
        self.eos_token_id = END
        self.bos_token_id = BEGIN
        self.tokens = list(table.pieces)
        self.special_token_ids = sorted(table.special)
        self._number = {p: n for n, p in enumerate(table.pieces) if n not in table.special}
        self._longest = max(map(len, table.pieces))

    def __call__(self, text: bytes | str) -> list[int]:
        """Longest piece first; near enough to the model's own splitting for a constraint."""
        raw = text.encode() if isinstance(text, str) else text
        numbers: list[int] = []
        at = 0
        while at < len(raw):
            for end in range(min(len(raw), at + self._longest), at, -1):
                number = self._number.get(raw[at:end])
                if number is not None:
                    numbers.append(number)
                    at = end
                    break
            else:
                at += 1
        return numbers


def constraint_tokenizer(table: TokenTable) -> LLTokenizer:
    """The table as llguidance wants it."""
    wrapper = TokenizerWrapper(_Tokens(table))
    return LLTokenizer(wrapper, n_vocab=len(table.pieces), eos_token=END)
