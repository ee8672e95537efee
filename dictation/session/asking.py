"""Queries: opened with a question that names what is doubtful, answered once."""

from __future__ import annotations

from dataclasses import replace

from dictation.session.effects import Alternative, Effect
from dictation.session.exams import put_query
from dictation.session.visit import Query, QueryState, Visit


def ask(  # noqa: PLR0913, PLR0917 - a query has this many parts
    visit: Visit,
    utterance: int,
    question: str,
    why: str,
    alternatives: tuple[Alternative, ...] = (),
    no: Effect | None = None,
) -> Visit:
    """Open a query about an utterance in the exam in hand."""
    earlier = sum(q.utterance == utterance for q in visit.queries)
    query_id = f"u{utterance}" if not earlier else f"u{utterance}.{earlier + 1}"
    query = Query(
        id=query_id,
        utterance=utterance,
        exam=visit.in_hand,
        question=question,
        why=why,
        alternatives=alternatives,
        no=no,
    )
    return replace(put_query(visit, query), reply=question)


def settle(visit: Visit, query: Query, state: QueryState, answer: str | None = None) -> Visit:
    """Close a query, or open it again."""
    return put_query(visit, replace(query, state=state, answer=answer))


def lapse(visit: Visit, utterance: int) -> Visit:
    """What an utterance asked falls away with it."""
    for query in visit.queries:
        if query.utterance == utterance and query.state is QueryState.OPEN:
            visit = settle(visit, query, QueryState.LAPSED)
    return visit


def answered_by_saying_again(visit: Visit, utterance: int, words: str) -> Visit:
    """What an utterance asked was answered by saying the same thing again, surely."""
    for query in visit.queries:
        if query.utterance == utterance and query.state is QueryState.OPEN:
            visit = settle(visit, query, QueryState.ANSWERED, words)
    return visit


def either(alternatives: tuple[Alternative, ...]) -> str:
    """'Forty or fourteen?' from the words of the alternatives; 'twins, clear; or cull?'."""
    words = [alternative.words for alternative in alternatives]
    comma, last = ("; ", "; or ") if any("," in each for each in words) else (", ", " or ")
    question = last.join((comma.join(words[:-1]), words[-1])) if words[1:] else words[0]
    return question[:1].upper() + question[1:] + "?"
