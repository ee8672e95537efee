"""A cow that is not sure yet: what follows waits with her until she is settled, and moves as one.

The words that may have named her open and close nothing. Only where something is found behind them
an exam is opened for her, in which all is asked about: 'no' joins it to the animal before.
"""

from __future__ import annotations

from dataclasses import replace

from dictation.decide.draft import Breath, Draft
from dictation.decide.tags import last_seen, leaves
from dictation.visit.parts import Instead, JoinBack, Query
from dictation.visit.state import Visit
from grammar.exam import FindingState
from grammar.findings import Animal, Command, CommandName, Finding, Said


def wait_with_her(draft: Draft, breath: Breath) -> None:
    """Before something is recorded: where it is asked whether this is another animal, it is hers
    until that is settled."""
    query, former = _in_question(draft.visit), draft.visit.in_hand
    if query is None or former is None:
        return
    effect = query.alternatives[0].effect
    assert isinstance(effect, Instead)
    draft.close_exam()
    draft.open_exam(breath.started_at, implied=True)
    exam = draft.visit.in_hand
    assert exam is not None
    draft.put_query(replace(query, exam=exam, no=JoinBack(exam, former)))
    phrase = draft.visit.phrase(query.phrase)
    for each in of_hers(effect.said):
        if not isinstance(each.what, Command):
            draft.record(each.what, exam, FindingState.QUERIED, each.words, phrase)
    if phrase is not None:
        draft.put_phrase(replace(phrase, exam=exam))


def _in_question(visit: Visit) -> Query | None:
    """What is asked of the animal in hand that may mean another one."""
    exam = visit.exam_in_hand
    if exam is None:
        return None
    for query in visit.open_of(exam.number):
        effect = query.alternatives[0].effect if query.alternatives else None
        waits = isinstance(query.no, JoinBack) and query.no.exam == exam.number
        if not waits and isinstance(effect, Instead) and leaves(visit, exam, effect.said):
            return query
    return None


def settled_as(draft: Draft, query: Query, said: tuple[Said, ...]) -> tuple[tuple[Said, ...], int]:
    """What was meant by words behind which something waited, and the exam to which it belongs.

    Of the animal before: the two are joined. Of one seen earlier: all goes to her.
    """
    waiting = query.no
    assert isinstance(waiting, JoinBack)
    former = draft.visit.exam(waiting.into)
    if former is not None and not leaves(draft.visit, former, said):
        draft.join(waiting.exam, waiting.into)
        return said, waiting.into
    for command in (each.what for each in said if isinstance(each.what, Command)):
        seen = last_seen(draft.visit, command.animal)
        if command.name is CommandName.BACK_TO and seen is not None:
            draft.join(waiting.exam, seen.number)
            return tuple(s for s in said if s.what is not command), seen.number
    return of_hers(said), waiting.exam


def of_hers(said: tuple[Said, ...]) -> tuple[Said, ...]:
    """What was said, where her exam is open already: of 'next animal 842' only the tag is left."""
    return tuple(replace(s, what=_unframed(s.what)) for s in said if not _bare(s.what))


def _bare(what: object) -> bool:
    """A command that names who is in hand and carries nothing else."""
    if not isinstance(what, Command):
        return False
    if what.name is CommandName.BACK_TO:
        return True
    return what.name is CommandName.NEXT_ANIMAL and what.animal is None


def _unframed(what: Finding | Command) -> Finding | Command:
    if isinstance(what, Command) and what.name is CommandName.NEXT_ANIMAL and what.animal:
        what = what.animal
    return replace(what, tag_alone=False) if isinstance(what, Animal) else what
