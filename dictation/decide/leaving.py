"""Leaving the yard: what is left is said before the visit closes; it opens again when asked to."""

from __future__ import annotations

from dictation.decide.answers import Perform
from dictation.decide.draft import Breath, Draft
from dictation.visit.facts import GoingSet
from dictation.visit.inputs import INPUTS, VisitClosed
from dictation.visit.parts import Alternative, Instead, Keep, Query, QueryState
from dictation.visit.state import Visit
from grammar.checks.identity import GONE
from grammar.findings import Command, CommandName, Said

NAMED = 3
"""As many tags are said: a longer list is read on the screen."""
CLOSED = "The visit is closed: say 'open the visit again' to open it again."


def leave(draft: Draft, breath: Breath) -> None:
    """'End of visit': closed where nothing is left; else it is said what, and waits for a word."""
    draft.close_exam()
    for query in _asked(draft.visit):
        draft.settle(query, QueryState.LAPSED)
    told, left = what_is_left(draft.visit)
    if not left:
        draft.go("closed", True)
        draft.reply(told)
        return
    anyway = Said(Command(CommandName.CLOSE_ANYWAY), 0, 0, breath.phrase.text)
    offered = (Alternative("close anyway", Instead((anyway,))),)
    why = "this is left before the visit closes"
    draft.ask(breath.phrase.number, f"{told} Close anyway?", why, offered, no=Keep())


def leave_anyway(draft: Draft, breath: Breath) -> None:
    """Close with what is left, once that was told."""
    told = _asked(draft.visit)
    if not told and not any(is_closing(q) for q in draft.visit.queries_of(breath.phrase.number)):
        draft.reply("Say 'end of visit' first.")
        return
    for query in told:
        draft.settle(query, QueryState.ANSWERED, breath.phrase.text)
    draft.close_exam()
    draft.go("closed", True)


def reopen(draft: Draft, breath: Breath, perform: Perform) -> None:
    """The visit goes on; what was said while it was closed counts from now on, in its order."""
    if not draft.visit.closed:
        draft.reply("The visit is open.")
        return
    draft.go("closed", False)
    draft.reply("The visit is open again.")
    for query in draft.visit.open_of(None):
        said = query.first_said
        phrase = draft.visit.phrase(query.phrase)
        held = said and said[0].what == Command(CommandName.REOPEN)
        if held and phrase is not None and phrase.number < breath.phrase.number:
            draft.settle(query, QueryState.ANSWERED, breath.phrase.text)
            perform(draft, Breath(phrase), said[1:])


def closed_in_words(visit: Visit) -> bool:
    """Whether a person ended the visit; what only a program ended is simply gone on with."""
    acts = (visit.acts[seq] for seq in range(visit.given.seq, 0, -1) if seq in visit.acts)
    ended = (a for a in acts if any(f.slot == "closed" and f.now for f in a.of(GoingSet)))
    return visit.closed and next((a.kind != INPUTS[VisitClosed] for a in ended), False)


def while_closed(draft: Draft, breath: Breath, said: tuple[Said, ...]) -> None:
    """Surely said after the end: kept, and asked about."""
    words = breath.phrase.text
    again = Said(Command(CommandName.REOPEN), 0, 0, words)
    offered = (Alternative("open the visit again", Instead((again, *said))),)
    draft.ask(breath.phrase.number, CLOSED, "the visit is closed", offered, no=Keep())


def what_is_left(visit: Visit) -> tuple[str, bool]:
    """One sentence of how many were seen, are missing and in doubt; whether anything is left."""
    seen = {exam.tag for exam in visit.exams}
    awaited = [known.tag for known in visit.herd if not _gone(known.last_status)]
    missing = [tag for tag in awaited if tag not in seen]
    doubts = len([q for q in visit.open_queries if not is_closing(q)])
    told = f"{len(visit.exams)} seen"
    if awaited:
        told = f"{len(awaited) - len(missing)} of {len(awaited)} seen"
    if missing:
        named = missing if len(missing) <= NAMED else missing[: NAMED - 1]
        named = named if named is missing else [*named, f"{len(missing) - len(named)} more"]
        both = filter(None, (", ".join(named[:-1]), named[-1]))
        told += f", missing {' and '.join(both)}"
    if doubts:
        told += f"; {doubts} doubt{'s' if doubts > 1 else ''}"
    return f"{told}.", bool(missing or doubts)


def _gone(status: str | None) -> bool:
    return status is not None and status.strip().lower() in GONE


def is_closing(query: Query) -> bool:
    """Whether it is asked if the visit closes with what is left."""
    return any(each.what == Command(CommandName.CLOSE_ANYWAY) for each in query.first_said)


def _asked(visit: Visit) -> list[Query]:
    return [query for query in visit.open_queries if is_closing(query)]
