"""The spoken rules as a network of words, as phonetic recognisers search it.

Pieces (a statement, a command) are laid out as finite automata, made deterministic and then as
small as they can be; the breath is laid out of these pieces with silent steps between them. The
whole made deterministic has forty times the arcs, and takes a recogniser minutes an utterance.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tests.bench.spoken_rules import Again, Choice, Rule, Spoken, Word
from tests.bench.spoken_rules import Sequence as Following

Arcs = dict[str, frozenset[int]]
PIECES = ("statement", "command", "tag_alone", "answer", "filler")
"""Rules laid out once and made small."""


@dataclass(frozen=True, slots=True)
class Network:
    """``arcs``: for each state, word to next states; ``silent``: states reached without a word.

    State 0 begins; ``ends``: where it may end.
    """

    arcs: tuple[Arcs, ...]
    silent: tuple[tuple[int, ...], ...]
    ends: frozenset[int]

    @property
    def words(self) -> set[str]:
        """All words of the network."""
        return {word for arcs in self.arcs for word in arcs}

    def accepts(self, words: Sequence[str]) -> bool:
        """Whether these words are a sentence of it."""
        closure = _Closure(self.silent)
        states = closure.of(frozenset({0}))
        for word in words:
            after = frozenset(n for s in states for n in self.arcs[s].get(word, ()))
            states = closure.of(after)
        return bool(states & self.ends)


def piece(rules: Mapping[str, Spoken], name: str) -> Network:
    """One rule, deterministic and small. Raises ValueError if it recurses before its end."""
    return _smallest(_deterministic(_laid(rules, {}, name)))


def network(rules: Mapping[str, Spoken], start: str = "breath") -> Network:
    """The network of a rule, of small pieces. Raises ValueError as ``piece`` does."""
    return _laid(rules, {name: piece(rules, name) for name in PIECES if name in rules}, start)


def _laid(rules: Mapping[str, Spoken], pieces: Mapping[str, Network], start: str) -> Network:
    layout = _Layout(rules, pieces)
    begin, end = layout.state(), layout.state()
    layout.lay(Rule(start), begin, end)
    return Network(
        tuple({word: frozenset(after) for word, after in arcs.items()} for arcs in layout.arcs),
        tuple(map(tuple, layout.silent)),
        frozenset({end}),
    )


class _Layout:
    """States joined by words and by silent steps."""

    def __init__(self, rules: Mapping[str, Spoken], pieces: Mapping[str, Network]) -> None:
        self._rules = rules
        self._pieces = pieces
        self._open: dict[str, tuple[int, int]] = {}
        self.arcs: list[dict[str, set[int]]] = []
        self.silent: list[list[int]] = []

    def state(self) -> int:
        """A new state."""
        self.arcs.append(defaultdict(set))
        self.silent.append([])
        return len(self.arcs) - 1

    def lay(self, spoken: Spoken, begin: int, end: int) -> None:
        """Lay a piece of the rules between two states."""
        match spoken:
            case Word(word):
                self.arcs[begin][word].add(end)
            case Following(parts):
                self._following(parts, begin, end)
            case Choice(options):
                for option in options:
                    self.lay(option, begin, end)
            case Again(part):
                middle = self._between(begin, end)
                self.lay(part, middle, middle)
            case Rule(name) if name in self._pieces:
                self._copy(self._pieces[name], begin, end)
            case Rule(name):
                self._rule(name, begin, end)

    def _between(self, begin: int, end: int) -> int:
        middle = self.state()
        self.silent[begin].append(middle)
        self.silent[middle].append(end)
        return middle

    def _following(self, parts: tuple[Spoken, ...], begin: int, end: int) -> None:
        if not parts:
            self.silent[begin].append(end)
            return
        looped = _list_of(parts)
        if looped is not None:
            self._list(*looped, begin, end)
            return
        for part in parts[:-1]:
            after = self.state()
            self.lay(part, begin, after)
            begin = after
        self.lay(parts[-1], begin, end)

    def _list(self, item: Spoken, join: Spoken, begin: int, end: int) -> None:
        """Items with joins between them, the item laid once."""
        first, last = self.state(), self.state()
        self.silent[begin].append(first)
        self.silent[last].append(end)
        self.lay(item, first, last)
        self.lay(join, last, first)

    def _rule(self, name: str, begin: int, end: int) -> None:
        if name in self._open:
            entry, leave = self._open[name]
            if leave != end:
                raise ValueError(f"the rule {name} recurses before its end")
            self.silent[begin].append(entry)
            return
        entry = self.state()
        self.silent[begin].append(entry)
        self._open[name] = (entry, end)
        self.lay(self._rules[name], entry, end)
        del self._open[name]

    def _copy(self, small: Network, begin: int, end: int) -> None:
        number = [self.state() for _ in small.arcs]
        self.silent[begin].append(number[0])
        for state, arcs in enumerate(small.arcs):
            for word, after in arcs.items():
                self.arcs[number[state]][word].update(number[a] for a in after)
        for state in small.ends:
            self.silent[number[state]].append(end)


def _list_of(parts: tuple[Spoken, ...]) -> tuple[Spoken, Spoken] | None:
    """Item and join, where the parts are 'item (join item)*'."""
    match parts:
        case (item, Again(Following((join, again)))) if again == item:
            return item, join
    return None


class _Closure:
    """States reached by silent steps."""

    def __init__(self, silent: Sequence[Sequence[int]]) -> None:
        self._silent = silent
        self._known: dict[frozenset[int], frozenset[int]] = {}

    def of(self, states: frozenset[int]) -> frozenset[int]:
        """These states and all that silent steps lead to."""
        if states not in self._known:
            reached = set(states)
            pending = list(states)
            while pending:
                for after in self._silent[pending.pop()]:
                    if after not in reached:
                        reached.add(after)
                        pending.append(after)
            self._known[states] = frozenset(reached)
        return self._known[states]


def _deterministic(full: Network) -> Network:
    """One next state a word, no silent steps: states of the result are sets of states."""
    closure = _Closure(full.silent)
    begin = closure.of(frozenset({0}))
    numbers = {begin: 0}
    pending = [begin]
    arcs: list[Arcs] = []
    for states in pending:
        reached: dict[str, set[int]] = defaultdict(set)
        for state in states:
            for word, after in full.arcs[state].items():
                reached[word] |= after
        leaving: Arcs = {}
        for word, targets in reached.items():
            closed = closure.of(frozenset(targets))
            if closed not in numbers:
                numbers[closed] = len(numbers)
                pending.append(closed)
            leaving[word] = frozenset({numbers[closed]})
        arcs.append(leaving)
    ends = frozenset(n for states, n in numbers.items() if states & full.ends)
    return Network(tuple(arcs), ((),) * len(arcs), ends)


def _smallest(full: Network) -> Network:
    """States that cannot be told apart by what may follow become one (Moore's refinement)."""
    group = [int(state in full.ends) for state in range(len(full.arcs))]
    count = len(set(group))
    while True:
        numbers: dict[tuple[int, frozenset[tuple[str, int]]], int] = {}
        finer = [
            numbers.setdefault(
                (
                    group[state],
                    frozenset((word, group[n]) for word, after in arcs.items() for n in after),
                ),
                len(numbers),
            )
            for state, arcs in enumerate(full.arcs)
        ]
        if len(numbers) == count:
            break
        group, count = finer, len(numbers)
    arcs: list[Arcs] = [{} for _ in range(count)]
    for state, leaving in enumerate(full.arcs):
        arcs[finer[state]] = {
            word: frozenset(finer[n] for n in after) for word, after in leaving.items()
        }
    return Network(tuple(arcs), ((),) * count, frozenset(finer[s] for s in full.ends))
