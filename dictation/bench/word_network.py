"""The spoken rules as one small network of words, as phonetic recognisers search it.

The rules are laid out as a finite automaton (they recurse only at their end, which is checked),
made deterministic and then as small as it can be. Laid out and left at that, the recogniser needs
minutes an utterance.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from dictation.bench.spoken_rules import Again, Choice, Rule, Sequence, Spoken, Word

Arcs = dict[str, int]


@dataclass(frozen=True, slots=True)
class Network:
    """``arcs``: for each state, word to next state. State 0 begins; ``ends``: where it may end."""

    arcs: tuple[Arcs, ...]
    ends: frozenset[int]

    @property
    def words(self) -> set[str]:
        """All words of the network."""
        return {word for arcs in self.arcs for word in arcs}

    def accepts(self, words: list[str]) -> bool:
        """Whether these words are a sentence of it."""
        state = 0
        for word in words:
            if word not in self.arcs[state]:
                return False
            state = self.arcs[state][word]
        return state in self.ends


def network(rules: Mapping[str, Spoken], start: str) -> Network:
    """The network of one rule. Raises ValueError for a rule that recurses before its end."""
    layout = _Layout(rules)
    begin, end = layout.state(), layout.state()
    layout.lay(Rule(start), begin, end)
    return _smallest(_deterministic(layout, begin, end))


class _Layout:
    """States joined by words and by silent steps."""

    def __init__(self, rules: Mapping[str, Spoken]) -> None:
        self._rules = rules
        self._open: dict[str, tuple[int, int]] = {}
        self.words: list[list[tuple[str, int]]] = []
        self.silent: list[list[int]] = []

    def state(self) -> int:
        """A new state."""
        self.words.append([])
        self.silent.append([])
        return len(self.words) - 1

    def lay(self, spoken: Spoken, begin: int, end: int) -> None:
        """Lay a piece of the rules between two states."""
        match spoken:
            case Word(word):
                self.words[begin].append((word, end))
            case Sequence(parts):
                self._sequence(parts, begin, end)
            case Choice(options):
                for option in options:
                    self.lay(option, begin, end)
            case Again(part):
                middle = self.state()
                self.silent[begin].append(middle)
                self.lay(part, middle, middle)
                self.silent[middle].append(end)
            case Rule(name):
                self._rule(name, begin, end)

    def _sequence(self, parts: tuple[Spoken, ...], begin: int, end: int) -> None:
        if not parts:
            self.silent[begin].append(end)
            return
        for part in parts[:-1]:
            after = self.state()
            self.lay(part, begin, after)
            begin = after
        self.lay(parts[-1], begin, end)

    def _rule(self, name: str, begin: int, end: int) -> None:
        if name in self._open:
            entry, exit_ = self._open[name]
            if exit_ != end:
                raise ValueError(f"the rule {name} recurses before its end")
            self.silent[begin].append(entry)
            return
        entry = self.state()
        self.silent[begin].append(entry)
        self._open[name] = (entry, end)
        self.lay(self._rules[name], entry, end)
        del self._open[name]


def _deterministic(layout: _Layout, begin: int, end: int) -> Network:
    """One next state a word: states of the result are sets of states of the layout."""
    closed = _Closure(layout.silent)
    numbers = {closed.of(frozenset({begin})): 0}
    pending = list(numbers)
    arcs: list[Arcs] = [{}]
    for states in pending:
        targets: dict[str, set[int]] = defaultdict(set)
        for state in states:
            for word, after in layout.words[state]:
                targets[word].add(after)
        for word, reached in targets.items():
            after_word = closed.of(frozenset(reached))
            if after_word not in numbers:
                numbers[after_word] = len(numbers)
                pending.append(after_word)
                arcs.append({})
            arcs[numbers[states]][word] = numbers[after_word]
    return Network(tuple(arcs), frozenset(n for states, n in numbers.items() if end in states))


class _Closure:
    """States reached by silent steps."""

    def __init__(self, silent: list[list[int]]) -> None:
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


def _smallest(full: Network) -> Network:
    """States that cannot be told apart by what may follow become one (Moore's refinement)."""
    group = [int(state in full.ends) for state in range(len(full.arcs))]
    count = len(set(group))
    while True:
        numbers: dict[tuple[int, frozenset[tuple[str, int]]], int] = {}
        finer = [
            numbers.setdefault(
                (group[state], frozenset((word, group[after]) for word, after in arcs.items())),
                len(numbers),
            )
            for state, arcs in enumerate(full.arcs)
        ]
        if len(numbers) == count:
            break
        group, count = finer, len(numbers)
    arcs: list[Arcs] = [{} for _ in range(count)]
    for state, leaving in enumerate(full.arcs):
        arcs[finer[state]] = {word: finer[after] for word, after in leaving.items()}
    return Network(tuple(arcs), frozenset(finer[state] for state in full.ends))
