"""What is open: all that a person at the desk should look at, the gravest first."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from dictation.decide.draft import standing_of
from dictation.decide.record import Flags
from dictation.decide.taking_back import is_taken_back
from dictation.visit.inputs import INPUTS, PhraseInserted
from dictation.visit.parts import Fate, JoinBack, Phrase, Query
from dictation.visit.state import Visit
from grammar.exam import Exam, FindingState, Flag, Severity
from grammar.findings import Animal
from grammar.normalise import normalise
from grammar.own_words import words_of_grammar
from grammar.parse import parse
from grammar.partly import part_of
from grammar.vocabulary import in_force


@dataclass(frozen=True, slots=True)
class Matter:
    """One thing to look at: a question, a doubtful phrase, an animal's flags, or refused speech.

    ``exam``: where it belongs, None before the first animal. ``phrase``: None for flags.
    ``weight``: the less, the sooner it must be looked at.
    """

    exam: int | None
    phrase: int | None
    query: Query | None = None
    flags: tuple[Flag, ...] = ()
    weight: int = 0

    @property
    def key(self) -> tuple[object, ...]:
        """What makes it the same matter after the visit has gone on."""
        query = None if self.query is None else self.query.id
        return (self.exam if self.phrase is None else None, self.phrase, query)


STOPPED, WHO, ASKED, DOUBTFUL, FLAGGED, REFUSED = range(6)
"""Weights: what must be said twice, which animal it was, a question, a doubt, a flag, speech."""

_OF_A_TAG = frozenset({"no_tag", "tag_not_on_list", "same_tag_twice", "two_tags_in_one_exam"})


def agenda(visit: Visit, flags: Flags) -> tuple[Matter, ...]:
    """All that is open, most urgent first; () when nothing is left."""
    queries = visit.open_queries
    found = [Matter(q.exam, q.phrase, q, weight=_weight(visit, q)) for q in queries]
    done = {matter.phrase for matter in found}
    for exam in visit.exams:
        for recorded in exam.standing:
            if recorded.state is FindingState.QUERIED and recorded.phrase not in done:
                done.add(recorded.phrase)
                found.append(Matter(exam.number, recorded.phrase, weight=DOUBTFUL))
        raised = flags.get(exam.number, ()) if exam.approved is None else ()
        grave = tuple(f for f in raised if f.severity is not Severity.NOTE)
        if grave:
            found.append(Matter(exam.number, None, None, grave, min(map(_weight_of_flag, grave))))
    refused = (p for p in refused_speech(visit) if sounds_like_ours(p.text))
    found += [Matter(p.exam, p.number, weight=REFUSED) for p in refused]
    return tuple(sorted(found, key=lambda matter: matter.weight))


def _weight(visit: Visit, query: Query) -> int:
    return WHO if _asks_who(visit, query) else ASKED


def _weight_of_flag(flag: Flag) -> int:
    if flag.severity is Severity.STOP:
        return STOPPED
    return WHO if flag.rule in _OF_A_TAG else FLAGGED


def _asks_who(visit: Visit, query: Query) -> bool:
    """Whether a question is about which animal it was."""
    if any(isinstance(each.effect, JoinBack) for each in query.alternatives):
        return True
    doubted = (r for r in standing_of(visit, query.phrase) if r.state is FindingState.QUERIED)
    return any(isinstance(r.finding, Animal) for r in doubted)


def doubt_who(visit: Visit, exam: Exam) -> str | None:
    """Why it is not certain which animal an exam is of; None where it is."""
    if any(_asks_who(visit, query) for query in visit.open_of(exam.number)) or any(
        isinstance(r.finding, Animal) and r.state is FindingState.QUERIED for r in exam.standing
    ):
        return "a question about her tag is open"
    named = any(isinstance(f, Animal) and (f.tag or f.electronic_id) for f in exam.findings)
    if exam.tag is None and not named:
        return "she has no tag"
    if exam.tag_repeated_in:
        others = " and ".join(str(number) for number in exam.tag_repeated_in)
        return f"exam {others} carries the same tag: merge them, or correct a tag"
    return None


def refused_speech(visit: Visit) -> tuple[Phrase, ...]:
    """Phrases from which nothing was recorded and that nobody has taken up."""
    if visit.visit_approved:
        return ()
    refused = [p for p in visit.phrases if p.fate is Fate.REFUSED]
    if not refused:
        return ()
    inserted = (act for act in visit.acts.values() if act.kind == INPUTS[PhraseInserted])
    taken_up = {act.phrase for act in inserted if not is_taken_back(visit, act.seq)}
    return tuple(
        p
        for p in refused
        if p.number not in taken_up
        and not (p.exam is not None and visit.is_approved(p.exam))
        and not standing_of(visit, p.number)
    )


@lru_cache(maxsize=4096)
def sounds_like_ours(text: str) -> bool:
    """Whether refused speech may have been meant for us: all words, or a part, are of an exam."""
    words = normalise(text).split()
    if not words:
        return False
    return words_of_grammar(in_force()).issuperset(words) or part_of(parse(text)) is not None
