"""A cow that is not sure yet: what follows waits with her until she is settled, and moves as one.

The words that may have named her open and close nothing. Only where something is found behind them
an exam is opened for her. 'No' to 'another animal?' joins it to the one before; 'no' to her tag
leaves her without one: whose findings they are is then for her right tag to say.
"""

from __future__ import annotations

from dataclasses import replace

from dictation.decide.draft import Breath, Draft
from dictation.decide.tags import in_question, last_seen, leaves
from dictation.visit.parts import JoinBack, Keep, Query
from grammar.exam import FindingState
from grammar.findings import Animal, Command, CommandName, Finding, Said


def wait_with_her(draft: Draft, breath: Breath) -> None:
    """Before something is recorded: where it is asked whether this is another animal, it is hers
    until that is settled."""
    query, former = in_question(draft.visit), draft.visit.in_hand
    if query is None or former is None or breath.phrase.number <= query.phrase:
        return  # what was said before it is of the animal before
    draft.close_exam()
    draft.open_exam(breath.started_at, implied=True)
    exam = draft.visit.in_hand
    assert exam is not None
    no = query.no
    if isinstance(no, Keep) or not any(_names(each.what) for each in query.first_said):
        no = JoinBack(exam, former)
    draft.put_query(replace(query, exam=exam, no=no, former=former))
    phrase = draft.visit.phrase(query.phrase)
    for each in of_hers(query.first_said):
        if not isinstance(each.what, Command):
            draft.record(each.what, exam, FindingState.QUERIED, each.words, phrase)
    if phrase is not None:
        draft.put_phrase(replace(phrase, exam=exam))


def settled_as(draft: Draft, query: Query, said: tuple[Said, ...]) -> tuple[tuple[Said, ...], int]:
    """What was meant by words behind which something waited, and the exam to which it belongs.

    Of the animal before: the two are joined. Of one seen earlier: all goes to her.
    """
    exam, former = query.exam, draft.visit.exam(query.former)
    assert exam is not None
    if former is not None and not leaves(draft.visit, former, said):
        draft.join(exam, former.number)
        return said, former.number
    for command in (each.what for each in said if isinstance(each.what, Command)):
        seen = last_seen(draft.visit, command.animal)
        if command.name is CommandName.BACK_TO and seen is not None:
            draft.join(exam, seen.number)
            return tuple(s for s in said if s.what is not command), seen.number
    return of_hers(said), exam


def _names(what: Finding | Command) -> bool:
    animal = what.animal if isinstance(what, Command) else what
    return isinstance(animal, Animal)


def of_hers(said: tuple[Said, ...]) -> tuple[Said, ...]:
    """What was said, where her exam is open already: of 'next animal 842' only the tag is left."""
    return tuple(as_tag(s) for s in map(_unframed, said) if not _bare(s.what))


def as_tag(said: Said) -> Said:
    """A number that was said alone, where it is a tag."""
    what = said.what
    return replace(said, what=replace(what, tag_alone=False)) if isinstance(what, Animal) else said


def _bare(what: Finding | Command) -> bool:
    """A command that says who is in hand and carries nothing else."""
    return isinstance(what, Command) and what.name in (CommandName.NEXT_ANIMAL, CommandName.BACK_TO)


def _unframed(said: Said) -> Said:
    what = said.what
    if isinstance(what, Command) and what.name is CommandName.NEXT_ANIMAL and what.animal:
        return replace(said, what=what.animal)
    return said
