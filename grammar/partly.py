"""A phrase that cannot be read whole: the part that can, and the rest as words. None is forced."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from grammar.findings import Plan, PlanAction, Reading, Said, Seen
from grammar.numbers import VALUES
from grammar.own_words import words_of_grammar
from grammar.parse import parse
from grammar.vocabulary import in_force

# Less than this read, or less than is left over, is as likely talk; our choice.
FEWEST_WORDS = 2
MOST_PRODUCT_WORDS = 2
# Of so few words, beside talk of people, none is of the cow: "he'll be back tomorrow". Our choice;
# "hell" is "he'll" as it is written here.
FEW_WORDS = 3
_PEOPLE = frozenset(
    "me|my|you|your|he|him|his|hes|hell|we|us|our|they|them|their|theyre".split("|")  # noqa: SIM905
)


@dataclass(frozen=True, slots=True)
class Part:
    """What was read, and the words that were not. ``product``: those behind 'give her' and the
    like that name no class of treatment; which one it is must be asked."""

    said: tuple[Said, ...]
    rest: str
    product: str | None = None


def part_of(reading: Reading, visit_date: date | None = None) -> Part | None:
    """What of an unread phrase can be read; None where that is too little."""
    if reading.unread is None:
        return None
    words = reading.normal.split()
    return _treated(words, visit_date) or _head_and_tail(words, visit_date)


def _head_and_tail(words: list[str], visit_date: date | None) -> Part | None:
    """The longest readable beginning and, behind it, the longest readable end."""
    ends = ((n, _said(words[:n], 0, visit_date)) for n in range(len(words) - 1, 0, -1))
    end, head = next(((n, said) for n, said in ends if said), (0, ()))
    starts = ((n, _said(words[n:], n, visit_date, words)) for n in range(end + 1, len(words)))
    start, tail = next(((n, said) for n, said in starts if said), (len(words), ()))
    rest = words[end:start]
    if all(isinstance(s.what, Seen) and s.what.remark is None for s in (*head, *tail)):
        return None  # a place was named, and what was said of it is not read
    read = len(words) - len(rest)
    if read < max(FEWEST_WORDS, len(rest)) or (read <= FEW_WORDS and _PEOPLE & set(rest)):
        return None
    if head and rest and _counts(words[end - 1]) and rest[0] not in words_of_grammar(in_force()):
        return None  # "back in five minutes": the number is of what is not known here
    return Part((*head, *tail), " ".join(rest))


def _counts(word: str) -> bool:
    return word in VALUES or word.isdigit() or word in in_force().terms["ish"]


def _treated(words: list[str], visit_date: date | None) -> Part | None:
    """ "Give her" and a name that is not known here: a treatment, of which the class is open."""
    known = words_of_grammar(in_force())
    for at in range(len(words)):
        for form in in_force().terms["treat_word"]:
            behind = words[at + len(form.split()) :]
            opens = words[at : at + len(form.split())] == form.split()
            if not opens or not 0 < len(behind) <= MOST_PRODUCT_WORDS or known & set(behind):
                continue
            head = _said(words[:at], 0, visit_date) if at else ()
            if at and not head:
                continue
            start, end = len(" ".join(words[:at])) + bool(at), len(" ".join(words))
            told = Said(Plan(PlanAction.TREAT), start, end, " ".join(words[at:]))
            return Part((*head, told), " ".join(words[at:]), " ".join(behind))
    return None


def _said(
    words: list[str], at: int, visit_date: date | None, whole: list[str] | None = None
) -> tuple[Said, ...]:
    """The findings of words that stand behind ``at`` others; none where they have two readings."""
    reading = parse(" ".join(words), visit_date)
    if reading.others or reading.command is not None:
        return ()
    before = len(" ".join((whole or [])[:at])) + bool(at)
    return tuple(replace(s, start=s.start + before, end=s.end + before) for s in reading.said)
