"""Text of one phrase -> a Reading: findings and a command, or where and why it cannot be read."""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from dataclasses import replace
from datetime import date

from lark import Tree

from grammar.breath import Composition, compositions
from grammar.breath.draft import Against
from grammar.findings import Command, Finding, Pregnancy, Reading, Said, Unread
from grammar.normalise import normalise
from grammar.phrases import MOST_TREES, ParseTree, PhraseParser
from grammar.statements import items_of
from grammar.statements.items import Item, UnresolvedDateError
from grammar.vocabulary import Vocabulary, in_force

_SAYS_NOTHING = frozenset({"join", "opener", "article", "in_her"})


class Parser:
    """Reads phrases with one vocabulary."""

    def __init__(self, vocabulary: Vocabulary | None = None) -> None:
        self.vocabulary = vocabulary or in_force()
        self._phrases = PhraseParser(self.vocabulary)

    def parse(self, phrase: str, visit_date: date | None = None) -> Reading:
        """What a phrase says. ``visit_date`` gives the year of a spoken day and month."""
        normal = normalise(phrase, self.vocabulary)
        normal = self.vocabulary.alone.get(normal, normal)
        trees = self._phrases.trees(normal) if normal else Unread(0, "there are no words in it.")
        found = trees if isinstance(trees, Unread) else _best(trees, normal, visit_date)
        if isinstance(found, Unread):
            return Reading(phrase, normal, unread=found)
        return Reading(phrase, normal, said=found[0], others=tuple(found[1:]))

    def trees(self, normal: str) -> tuple[ParseTree, ...]:
        """Every tree of a normalised phrase; none where it cannot be read."""
        trees = self._phrases.trees(normal)
        return () if isinstance(trees, Unread) else trees

    def next_words(self, normal: str) -> tuple[str, ...]:
        """Words that may follow a normalised phrase, in no order that means anything."""
        return self._phrases.next_words(normal)


_PARSERS: list[Parser] = []


def parser_in_force() -> Parser:
    """The parser of the vocabulary in force, made once."""
    vocabulary = in_force()
    if not _PARSERS or _PARSERS[-1].vocabulary is not vocabulary:
        _PARSERS[:] = [Parser(vocabulary)]
    return _PARSERS[-1]


def parse(phrase: str, visit_date: date | None = None) -> Reading:
    """What a phrase says, read with the vocabulary in force."""
    return parser_in_force().parse(phrase, visit_date)


def _best(
    trees: tuple[ParseTree, ...], normal: str, visit_date: date | None
) -> list[tuple[Said, ...]] | Unread:
    """The readings that are as good as the best; at least one."""
    found: dict[tuple[Finding | Command, ...], Composition] = {}
    if len(trees) > MOST_TREES:
        return Unread(0, "it can be read in too many ways.")
    for single in trees:
        try:
            items = _items(single, visit_date)
        except UnresolvedDateError:
            return Unread(0, "a day and month were said, but the date of the visit is not known.")
        for composition in compositions(items, normal):
            values = tuple(_told(said.what) for said in composition.said)
            if values not in found or found[values].problems > composition.problems:
                found[values] = composition
    fewest = min(c.problems for c in found.values())
    if fewest >= Against.UNREADABLE:
        return Unread(0, "a number or a remark stands alone.")
    readings = [c.said for c in found.values() if c.problems == fewest and c.said]
    if not readings or (len(readings) == 1 and fewest >= Against.SIDE_LOST):
        return Unread(0, "a side was said, and nothing of it.")
    return readings


def _told(what: Finding | Command) -> Finding | Command:
    """What is told by it: whether "pregnant" was said beside an age makes no other reading."""
    return replace(what, status_assumed=False) if isinstance(what, Pregnancy) else what


def _items(tree: ParseTree, visit_date: date | None) -> list[Item]:
    items: list[Item] = []
    corrects = False
    for part in _parts(tree):
        if part.data == "slip":
            corrects = True
            continue
        for item in items_of(part, visit_date):
            items.append(replace(item, corrects=corrects))
            corrects = False
    return items


def _parts(tree: ParseTree) -> Iterator[ParseTree]:
    """Statements, commands and slips of a breath in the order of speech."""
    for node in tree.children:
        if not isinstance(node, Tree) or node.data in _SAYS_NOTHING:
            continue
        if node.data in {"breath", "statements"}:
            yield from _parts(node)
        else:
            yield node


def values_of(normal: str) -> Hashable | None:
    """What a text says, to tell hearings with other values apart; None where it cannot be read."""
    reading = parse(normal)
    return None if reading.unread is not None else tuple(said.what for said in reading.said)
