"""A typed phrase of which a part was read: the part is asked about, the rest is kept as words."""

from __future__ import annotations

from dataclasses import replace

from dictation.decide.draft import Breath, Draft, record, standing_of
from dictation.decide.spoken import perform, say_apart
from dictation.decide.tags import leaves
from dictation.visit.inputs import PhraseTyped
from dictation.visit.parts import Alternative, Instead, Keep
from grammar.findings import Note, Plan, PlanAction, Said, TreatmentClass
from grammar.wording import either, spaced, written


def take_part(draft: Draft, given: PhraseTyped, breath: Breath) -> None:
    """Record what was read as asked about, and the rest as a note beside it."""
    before, rest = draft.visit.exam_in_hand, given.rest or ""
    if before is not None and leaves(draft.visit, before, given.part):
        said = (*given.part, Said(Note(rest), 0, 0, rest))
        words = say_apart((said,))[0]
        offered = (Alternative(words, Instead(said)),)
        draft.ask(given.phrase, either((words,)), "only a part of it could be read", offered)
        return
    unsure = replace(breath, sure=False)
    perform(draft, unsure, given.part)
    record(draft, unsure, Note(rest), rest)
    words = ", ".join(written(r.finding) for r in standing_of(draft.visit, given.phrase))
    untold = [s.what for s in given.part if isinstance(s.what, Plan) and _of_no_class(s.what)]
    if untold:
        classes = ", ".join(spaced(each) for each in TreatmentClass)
        question = f"Which class is '{given.rest}'? Say 'correction' and one of: {classes}."
        why = "the product is not known here"
    else:
        question, why = either((words,)), "only a part of it could be read"
    draft.ask(given.phrase, question, why, (Alternative(words, Keep()),))


def _of_no_class(plan: Plan) -> bool:
    return plan.action is PlanAction.TREAT and plan.treatment_class is None
