"""A form sent by the page, as a correction. Everything in it is checked; nothing is trusted."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from dictation.errors import WrongUseError
from dictation.session.deeds import last_to_undo
from dictation.session.events import (
    Approved,
    Choice,
    Correction,
    Inserted,
    Merged,
    PhraseMoved,
    QueryAnswered,
    Renumbered,
    Split,
    Withdrawn,
)
from dictation.session.review_events import ExamAdded, Rephrased, Undone
from dictation.session.typed_phrase import exam_named, findings_typed, tag_typed
from dictation.session.visit import Fate, Visit
from grammar.exam import Exam

Form = Mapping[str, str]

LONGEST_TEXT = 400
"""Characters of a phrase or reason; no breath is longer."""


def correction(visit: Visit, form: Form, who: str) -> Correction:
    """What a form asks for. Raises WrongUseError with a sentence for the reviewer."""
    make = _ACTIONS.get(form.get("action", ""))
    if make is None:
        raise WrongUseError("The page asked for something that is not known here: load it again.")
    return make(visit, form, who)


def _phrase(visit: Visit, form: Form, who: str) -> Correction:
    text = _text(form, "text")
    said = findings_typed(text, visit.on_date)
    number = _number(form, "utterance")
    utterance = visit.utterance(number)
    if utterance is not None and utterance.fate is Fate.REFUSED:
        exam = _exam(visit, form)
        return Inserted(exam.number, text, said, who, _why(form), number)
    return Rephrased(number, text, said, who, _why(form))


def _insert(visit: Visit, form: Form, who: str) -> Correction:
    text = _text(form, "text")
    said = findings_typed(text, visit.on_date)
    return Inserted(_exam(visit, form).number, text, said, who, _why(form))


def _answer(visit: Visit, form: Form, who: str) -> Correction:
    query = form.get("query", "")
    number = _number(form, "number")
    found = visit.query(query)
    if found is None:
        raise WrongUseError("That question is not there any more.")
    if number:
        return QueryAnswered(query, Choice.TAKE, number, who)
    choice = Choice.NONE_OF_THEM if found.alternatives else Choice.SETTLED
    return QueryAnswered(query, choice, None, who)


def _withdraw(visit: Visit, form: Form, who: str) -> Correction:
    if form.get("finding"):
        return Withdrawn(_number(form, "finding"), who, _why(form))
    return Rephrased(_number(form, "utterance"), "", (), who, _why(form))


def _move(visit: Visit, form: Form, who: str) -> Correction:
    target = exam_named(visit, _text(form, "text"))
    return PhraseMoved(_number(form, "utterance"), target.number, who, _why(form))


def _split(visit: Visit, form: Form, who: str) -> Correction:
    return Split(_exam(visit, form).number, _number(form, "utterance"), who, _why(form))


def _merge(visit: Visit, form: Form, who: str) -> Correction:
    into = exam_named(visit, _text(form, "text"))
    return Merged(_exam(visit, form).number, into.number, who, _why(form))


def _tag(visit: Visit, form: Form, who: str) -> Correction:
    return Renumbered(_exam(visit, form).number, tag_typed(_text(form, "text")), who, _why(form))


def _add(visit: Visit, form: Form, who: str) -> Correction:
    after = _number(form, "exam")
    return ExamAdded(after or None, tag_typed(_text(form, "text")), who, _why(form))


def _approve(visit: Visit, form: Form, who: str) -> Correction:
    return Approved(_exam(visit, form).number, who)


def _approve_visit(visit: Visit, form: Form, who: str) -> Correction:
    return Approved(None, who)


def _undo(visit: Visit, form: Form, who: str) -> Correction:
    if form.get("seq"):
        return Undone(_number(form, "seq"), who)
    last = last_to_undo(visit)
    if last is None:
        raise WrongUseError("There is no correction to take back.")
    return Undone(last.seq, who)


_ACTIONS: dict[str, Callable[[Visit, Form, str], Correction]] = {
    "phrase": _phrase,
    "insert": _insert,
    "answer": _answer,
    "withdraw": _withdraw,
    "move": _move,
    "split": _split,
    "merge": _merge,
    "tag": _tag,
    "add": _add,
    "approve": _approve,
    "approve_visit": _approve_visit,
    "undo": _undo,
}


def _exam(visit: Visit, form: Form) -> Exam:
    exam = visit.exam(_number(form, "exam"))
    if exam is None:
        raise WrongUseError("That animal is not there any more: it was merged, or never opened.")
    return exam


def _number(form: Form, name: str) -> int:
    text = form.get(name, "")
    if not text.isascii() or not text.isdigit() or len(text) > 15:
        raise WrongUseError(f"The page did not say which {name}: load it again.")
    return int(text)


def _text(form: Form, name: str) -> str:
    text = " ".join(form.get(name, "").split())
    if not text:
        raise WrongUseError("Nothing was typed.")
    if len(text) > LONGEST_TEXT:
        raise WrongUseError(f"That is longer than {LONGEST_TEXT} characters: type it in parts.")
    return text


def _why(form: Form) -> str:
    return " ".join(form.get("why", "").split())[:LONGEST_TEXT]
