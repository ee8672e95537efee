"""Letters made of blocks, as large as the room allows: a terminal has one size of type."""

from __future__ import annotations

from itertools import zip_longest

_ROWS = 5
_SHEET = """\
A    B    C    D    E    F    G    H    I  J    K    L    M
.#.  ##.  .##  ##.  ###  ###  .##  #.#  #  ..#  #.#  #..  #...#
#.#  #.#  #..  #.#  #..  #..  #..  #.#  #  ..#  #.#  #..  ##.##
###  ##.  #..  #.#  ##.  ##.  #.#  ###  #  ..#  ##.  #..  #.#.#
#.#  #.#  #..  #.#  #..  #..  #.#  #.#  #  #.#  #.#  #..  #...#
#.#  ##.  .##  ##.  ###  #..  .##  #.#  #  .#.  #.#  ###  #...#
N     O    P    Q     R    S    T    U    V    W      X    Y    Z
#..#  .#.  ##.  .##.  ##.  .##  ###  #.#  #.#  #...#  #.#  #.#  ###
##.#  #.#  #.#  #..#  #.#  #..  .#.  #.#  #.#  #...#  #.#  #.#  ..#
#.##  #.#  ##.  #..#  ##.  .#.  .#.  #.#  #.#  #.#.#  .#.  .#.  .#.
#..#  #.#  #..  #.##  #.#  ..#  .#.  #.#  #.#  ##.##  #.#  .#.  #..
#..#  .#.  #..  .###  #.#  ##.  .#.  ###  .#.  #...#  #.#  .#.  ###
0    1    2    3    4    5    6    7    8    9    ?    /    -    ,   .
###  .#.  ###  ###  #.#  ###  ###  ###  ###  ###  ###  ..#  ...  ..  .
#.#  ##.  ..#  ..#  #.#  #..  #..  ..#  #.#  #.#  ..#  ..#  ...  ..  .
#.#  .#.  ###  .##  ###  ###  ###  .#.  ###  ###  .#.  .#.  ###  ..  .
#.#  .#.  #..  ..#  ..#  ..#  #.#  .#.  #.#  ..#  ...  #..  ...  .#  .
###  ###  ###  ###  ..#  ###  ###  .#.  ###  ###  .#.  #..  ...  #.  #
"""
"""Letters side by side, each above its rows; # is dark."""


def _font() -> dict[str, list[str]]:
    lines = [line.split() for line in _SHEET.splitlines()]
    font = {" ": [".."] * _ROWS}
    for at in range(0, len(lines), _ROWS + 1):
        letters, *rows = lines[at : at + _ROWS + 1]
        font |= {letter: list(each) for letter, *each in zip(letters, *rows, strict=True)}
    return font


_FONT = _font()

_HALVES = {"..": " ", "#.": "\N{UPPER HALF BLOCK}", ".#": "\N{LOWER HALF BLOCK}"}
_BOTH = "\N{FULL BLOCK}"


def block_letters(text: str, width: int, height: int) -> list[str] | None:
    """The text on one line, as large as fits into so many columns and lines.

    None where it does not fit at all, or holds what there is no letter for.
    """
    if not text or not set(text) <= set(_FONT):
        return None
    rows = [".".join(row) for row in zip(*(_FONT[letter] for letter in text), strict=True)]
    scale = min(width // len(rows[0]), 2 * height // _ROWS)
    if scale < 1:
        return None
    high = ["".join(dot * scale for dot in row) for row in rows for _ in range(scale)]
    return [
        "".join(_HALVES.get(a + b, _BOTH) for a, b in zip(upper, lower, strict=True)).rstrip()
        for upper, lower in zip_longest(high[::2], high[1::2], fillvalue="." * len(high[0]))
    ]
