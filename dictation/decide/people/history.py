"""What each entry did to an animal, in words from what to what: made of its facts."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from dictation.decide.taking_back import PHRASES, is_taken_back, why_not_taken_back
from dictation.visit.facts import (
    ApprovalSet,
    ExamNamed,
    ExamSet,
    Fact,
    FindingSet,
    PhraseSet,
    QuerySet,
    TakenBack,
)
from dictation.visit.inputs import (
    INPUTS,
    PEOPLES,
    ExamAdded,
    ExamApproved,
    ExamSplit,
    PhraseHeardAgain,
    PhraseInserted,
)
from dictation.visit.parts import Placed, QueryState
from dictation.visit.state import Act, Visit
from grammar.exam import FindingState
from grammar.wording import written

_HEADS = {
    INPUTS[ExamSplit]: "split this animal",
    INPUTS[ExamAdded]: "added an animal",
    INPUTS[ExamApproved]: "approved this animal",
    INPUTS[PhraseHeardAgain]: "took over what is heard now",
}


Ends = tuple[Placed | None, Placed | None]


@dataclass(frozen=True, slots=True)
class ActLine:
    """What somebody did: when (UTC), who, what, and why.

    ``taken_back_by``: who took it back. ``button``: what its button says that takes it back, or
    does again what it took back; empty where that cannot be.
    """

    entry: int
    at: str
    who: str
    what: str
    why: str
    taken_back_by: str = ""
    button: str = ""


@dataclass(slots=True)
class History:
    """The entries of a visit by what they are about, gathered in one pass over their facts.

    ``of_exam``: the entries that touched an exam. ``made_by``: the entry that put a finding or
    question on record. ``earlier``: values that a finding had before. ``lines``: what people did,
    and what was said that changed something said before, by entry.
    """

    lines: dict[int, ActLine] = field(default_factory=dict)
    of_exam: dict[int, list[Act]] = field(default_factory=lambda: defaultdict(list))
    made_by: dict[int | str, Act] = field(default_factory=dict)
    earlier: dict[int, list[str]] = field(default_factory=lambda: defaultdict(list))


def history(visit: Visit) -> History:
    """The entries of a visit, oldest first."""
    out = History()
    for seq in sorted(visit.acts):
        act = visit.acts[seq]
        if _is_change(act):
            out.lines[seq] = act_line(visit, act)
        for exam in dict.fromkeys(exam for fact in act.facts for exam in exams_of(fact)):
            out.of_exam[exam].append(act)
        for fact in act.facts:
            if isinstance(fact, FindingSet):
                out.made_by.setdefault(fact.number, act)
                if fact.was and fact.now and fact.was.recorded.finding != fact.now.recorded.finding:
                    out.earlier[fact.number].append(written(fact.was.recorded.finding))
            elif isinstance(fact, QuerySet):
                out.made_by.setdefault(fact.id, act)
    return out


def exams_of(fact: Fact) -> tuple[int, ...]:
    """Numbers of the exams that a fact is about."""
    match fact:
        case FindingSet(was=was, now=now) | QuerySet(was=was, now=now):
            return tuple(each.exam for each in (was, now) if each is not None and each.exam)
        case ExamNamed() if fact.was.tag != fact.now.tag:
            return (fact.exam,)
        case ExamSet():
            return (fact.number,) if fact.into is None else (fact.number, fact.into)
        case ApprovalSet():
            return (fact.exam,)
        case _:
            return ()


def act_line(visit: Visit, act: Act) -> ActLine:
    """An entry in words, and whether it can be taken back."""
    button = "Do again" if _took_back(act) else "Take back"
    by = visit.acts.get(visit.index.taken_back.get(act.seq, 0))
    return ActLine(
        entry=act.seq,
        at=act.at[:16].replace("T", " "),
        who=act.who,
        what="; ".join(_words(visit, act)),
        why=act.why,
        taken_back_by="" if by is None or not is_taken_back(visit, act.seq) else by.who,
        button=button if why_not_taken_back(visit, act.seq) is None else "",
    )


def _is_change(act: Act) -> bool:
    if act.kind not in PHRASES:
        return act.kind in PEOPLES
    answered = any(isinstance(f, QuerySet) and f.was is not None for f in act.facts)
    changed = any(was is not None for was, _ in ends_of(act.facts))
    return answered or changed or bool(_took_back(act))


def _took_back(act: Act) -> list[TakenBack]:
    return [fact for fact in act.facts if isinstance(fact, TakenBack)]


def _words(visit: Visit, act: Act) -> Iterator[str]:
    """'left ovary corpus luteum 22 mm became left ovary corpus luteum 24 mm' and the like."""
    yield from _head(visit, act)
    yield from _taking_back(visit, act)
    yield from _moves(act)
    for was, now in ends_of(act.facts):
        if stands(was) != stands(now) or not _took_back(act):
            yield from finding_words(was, now)
    for fact in act.facts:
        if isinstance(fact, QuerySet):
            yield from _query(fact)


def _head(visit: Visit, act: Act) -> Iterator[str]:
    phrase = visit.phrase(act.phrase)
    if act.kind in PHRASES and phrase is not None:
        yield f"said '{phrase.text}'"
    elif act.kind == INPUTS[PhraseInserted]:
        yield "typed in what was missed" if act.phrase is None else "took up refused speech"
    elif any(isinstance(f, ApprovalSet) and f.exam == 0 and f.now for f in act.facts):
        yield "approved the visit"
    elif act.kind in _HEADS:
        yield _HEADS[act.kind]


def _taking_back(visit: Visit, act: Act) -> Iterator[str]:
    taken = _took_back(act)
    if any(fact.now == 0 for fact in taken):
        yield "did again what was taken back"
        return
    for fact in taken:
        entry = visit.acts[fact.entry]
        phrase = visit.phrase(entry.phrase) if entry.kind in PHRASES else None
        yield f"took back what {entry.who} did" if phrase is None else f"took back '{phrase.text}'"
    if taken and any(isinstance(fact, ApprovalSet) for fact in act.facts):
        yield "it was an approval"


def _moves(act: Act) -> Iterator[str]:
    merged = [f for f in act.facts if isinstance(f, ExamSet) and f.into is not None]
    if merged:
        yield from (f"merged exam {fact.number} into exam {fact.into}" for fact in merged)
        return
    moved: dict[tuple[int | None, int | None], None] = {}
    for fact in act.facts:
        if isinstance(fact, FindingSet | PhraseSet) and fact.was and fact.now:
            moved[fact.was.exam, fact.now.exam] = None
    for was, now in moved:
        if was != now and None not in (was, now):
            yield f"moved from exam {was} to exam {now}"


def ends_of(facts: Iterable[Fact]) -> list[Ends]:
    """Each finding as it was before the facts, and after them."""
    ends: dict[int, Ends] = {}
    for fact in facts:
        if isinstance(fact, FindingSet):
            was, _ = ends.get(fact.number, (fact.was, None))
            ends[fact.number] = (was, fact.now)
    return list(ends.values())


def finding_words(before: Placed | None, after: Placed | None) -> Iterator[str]:
    """'left ovary corpus luteum 22 mm became left ovary corpus luteum 24 mm' and the like."""
    was, now = stands(before), stands(after)
    if was is None and now is not None:
        yield f"added {now}"
    elif was is not None and now is None:
        yield f"withdrew {was}"
    elif was != now:
        yield f"{was} became {now}"
    elif now is not None and before and after and before.exam == after.exam:
        yield f"kept {now}"


def stands(placed: Placed | None) -> str | None:
    """A finding in words, as long as it counts."""
    if placed is None or placed.recorded.state is FindingState.WITHDRAWN:
        return None
    return written(placed.recorded.finding)


def _query(fact: QuerySet) -> Iterator[str]:
    if fact.was is not None and fact.now is not None and fact.was.state is not fact.now.state:
        became = {QueryState.ANSWERED: "settled", QueryState.LAPSED: "no longer asked"}
        yield f"{became.get(fact.now.state, 'asked again')} '{fact.now.question}'"
