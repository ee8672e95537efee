"""Putting it right: what a person asks for, by key, line or click, as the deed that does it.

The console, the keys while listening and the page all come through ``order``: a name, what it is
about, and what was typed: findings, as spoken or in short forms; an animal; a tag. Nothing is done
here; the deed is decided like any other input.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date

from dictation.decide.draft import standing_of
from dictation.decide.taking_back import PHRASES, last_to_redo, last_to_undo, why_not_taken_back
from dictation.errors import WrongUseError
from dictation.visit import inputs
from dictation.visit.parts import Fate, Phrase, Query
from dictation.visit.state import Visit
from grammar.exam import Exam
from grammar.findings import Command, CommandName, Said
from grammar.parse import parse
from grammar.short_forms import spelled_out
from grammar.wording import written

LONGEST_TAG = 15
"""Digits of a tag: those of an electronic number."""


@dataclass(frozen=True, slots=True)
class About:
    """What an order is about, by number; None where it is about nothing of the kind."""

    exam: int | None = None
    phrase: int | None = None
    query: str | None = None
    finding: int | None = None
    entry: int | None = None


@dataclass(frozen=True, slots=True)
class Order:
    """What is to be done, and the sentence that says so once it is."""

    deed: inputs.Deed
    told: str


def order(visit: Visit, name: str, about: About, text: str = "") -> Order:
    """What a person asks for. Raises WrongUseError with what is wrong and what to do."""
    make = ORDERS.get(name)
    if make is None:
        raise WrongUseError(f"'{name}' is nothing that is known here.")
    return make(visit, about, text)


def _answer(visit: Visit, about: About, text: str) -> Order:
    query = _query(visit, about)
    number = int(text) if text.isascii() and text.isdigit() and len(text) < 4 else -1
    if number == 0:
        return _none(visit, about, "")
    if not 1 <= number <= len(query.alternatives):
        offered = len(query.alternatives)
        raise WrongUseError(f"There is no answer {text}: {offered} are offered.")
    words = query.alternatives[number - 1].words
    return Order(inputs.QueryAnswered(query.id, inputs.Choice.TAKE, number), f"Taken: {words}.")


def _keep(visit: Visit, about: About, text: str) -> Order:
    """The likeliest answer, or as it is where none is offered."""
    query = _query(visit, about)
    if query.alternatives:
        return _answer(visit, about, "1")
    return Order(inputs.QueryAnswered(query.id, inputs.Choice.SETTLED), "Settled as it is.")


def _none(visit: Visit, about: About, text: str) -> Order:
    query = _query(visit, about)
    return Order(inputs.QueryAnswered(query.id, inputs.Choice.NONE_OF_THEM), "None of them.")


def _phrase(visit: Visit, about: About, text: str) -> Order:
    """What a phrase said was this; refused speech is taken up."""
    phrase = visit.phrase(about.phrase)
    if phrase is None or phrase.fate is Fate.REFUSED:
        return _take_up(visit, about, text)
    said = findings_typed(text, visit.on_date)
    return Order(inputs.PhrasePutRight(phrase.number, text, said), f"It says now: {_words(said)}.")


def _insert(visit: Visit, about: About, text: str) -> Order:
    """A phrase that was missed: whatever phrase is looked at has nothing to do with it."""
    return _take_up(visit, replace(about, phrase=None), text)


def _take_up(visit: Visit, about: About, text: str) -> Order:
    said = findings_typed(text, visit.on_date)
    exam, phrase = _exam(visit, about), visit.phrase(about.phrase)
    refused = phrase.number if phrase is not None and phrase.fate is Fate.REFUSED else None
    deed = inputs.PhraseInserted(exam.number, text, said, refused)
    return Order(deed, f"Added: {_words(said)}.")


def _withdraw(visit: Visit, about: About, text: str) -> Order:
    """One finding, or the whole phrase; ``text``: which of the phrase's findings, from 1."""
    if about.finding is not None:
        recorded = visit.recorded(about.finding)
        if recorded is None:
            raise WrongUseError("That finding is not there any more.")
        return Order(
            inputs.FindingWithdrawn(about.finding), f"Withdrawn: {written(recorded.finding)}."
        )
    phrase = _on_record(visit, about)
    standing = standing_of(visit, phrase.number)
    if not standing:
        raise WrongUseError("Nothing of this phrase is recorded.")
    if not text:
        return Order(inputs.PhrasePutRight(phrase.number, "", ()), "Withdrawn: the whole phrase.")
    numbers = {str(place): r for place, r in enumerate(standing, start=1)}
    if text not in numbers:
        raise WrongUseError(f"There is no finding {text} in this phrase.")
    return _withdraw(visit, About(finding=numbers[text].number), "")


def _move(visit: Visit, about: About, text: str) -> Order:
    target = exam_named(visit, text)
    deed = inputs.PhraseMoved(_on_record(visit, about).number, target.number)
    return Order(deed, f"Moved to {_named(target)}.")


def _merge(visit: Visit, about: About, text: str) -> Order:
    into = exam_named(visit, text)
    return Order(
        inputs.ExamsMerged(_exam(visit, about).number, into.number), f"Merged: {_named(into)}."
    )


def _split(visit: Visit, about: About, text: str) -> Order:
    phrase = _on_record(visit, about)
    told = f"From '{phrase.text}' on it is exam {visit.given.exam + 1}."
    return Order(inputs.ExamSplit(_exam(visit, about).number, phrase.number), told)


def _tag(visit: Visit, about: About, text: str) -> Order:
    return Order(inputs.TagChanged(_exam(visit, about).number, tag_typed(text)), f"Tag {text}.")


def _add(visit: Visit, about: About, text: str) -> Order:
    told = f"Added: tag {text}, exam {visit.given.exam + 1}."
    return Order(inputs.ExamAdded(about.exam, tag_typed(text)), told)


def _approve(visit: Visit, about: About, text: str) -> Order:
    if text == "visit":
        return Order(inputs.ExamApproved(None), "The visit is approved.")
    exam = _exam(visit, about)
    return Order(inputs.ExamApproved(exam.number), f"{_named(exam)} is approved.")


def _undo(visit: Visit, about: About, text: str) -> Order:
    last = last_to_undo(visit) if about.entry is None else visit.acts.get(about.entry)
    if last is None:
        raise WrongUseError("There is no correction to take back.")
    spoken = visit.phrase(last.phrase) if last.kind in PHRASES else None
    what = f"what {last.who} did" if spoken is None else f"'{spoken.text}'"
    return _taking_back(visit, last.seq, f"Taken back: {what}.")


def _redo(visit: Visit, about: About, text: str) -> Order:
    last = last_to_redo(visit) if about.entry is None else visit.acts.get(about.entry)
    if last is None or about.entry not in (None, last.seq):
        raise WrongUseError("Nothing was taken back just now.")
    return _taking_back(visit, last.seq, "Done again: what was taken back.")


def _taking_back(visit: Visit, entry: int, told: str) -> Order:
    why_not = why_not_taken_back(visit, entry)
    if why_not is not None:
        raise WrongUseError(why_not)
    return Order(inputs.EntryTakenBack(entry), told)


ORDERS: dict[str, Callable[[Visit, About, str], Order]] = {
    "answer": _answer,
    "keep": _keep,
    "none": _none,
    "phrase": _phrase,
    "insert": _insert,
    "withdraw": _withdraw,
    "move": _move,
    "merge": _merge,
    "split": _split,
    "tag": _tag,
    "add": _add,
    "approve": _approve,
    "undo": _undo,
    "redo": _redo,
}
"""Every way of putting something right."""


def _query(visit: Visit, about: About) -> Query:
    query = None if about.query is None else visit.query(about.query)
    if query is None:
        raise WrongUseError("Nothing is asked here, or not any more.")
    return query


def _exam(visit: Visit, about: About) -> Exam:
    exam = visit.exam(about.exam)
    if exam is None:
        raise WrongUseError("No animal is meant, or she is not there any more: choose one first.")
    return exam


def _on_record(visit: Visit, about: About) -> Phrase:
    phrase = visit.phrase(about.phrase)
    if phrase is None:
        raise WrongUseError("No phrase is meant, or it is not there any more: choose one first.")
    return phrase


def _named(exam: Exam) -> str:
    return f"Tag {exam.tag}" if exam.tag else f"Exam {exam.number}"


def findings_typed(text: str, on: date | None) -> tuple[Said, ...]:
    """The findings of a typed phrase. Raises WrongUseError with where and why it cannot be read."""
    phrase = spelled_out(text)
    reading = parse(phrase, on)
    if reading.unread is not None:
        before = reading.normal[: reading.unread.at].strip()
        where = f" after '{before}'" if before else ""
        raise WrongUseError(f"Not read{where}: {reading.unread.sentence}")
    if reading.others:
        readings = " or ".join(f"'{_words(said)}'" for said in (reading.said, *reading.others))
        raise WrongUseError(f"That can be read in two ways, {readings}: say which.")
    found = tuple(each for said in reading.said if (each := _finding(said)) is not None)
    if not found:
        raise WrongUseError("No finding was named: type what was seen, or a tag.")
    return found


def exam_named(visit: Visit, name: str) -> Exam:
    """The exam of a tag, or of its number as 'exam 3'. Raises WrongUseError."""
    number = name.lower().removeprefix("exam ").removeprefix("#")
    by_tag = [e for e in visit.exams if e.tag == name or (e.known and e.known.bears(name))]
    by_number = [e for e in visit.exams if number != name.lower() and str(e.number) == number]
    found = by_tag or by_number
    if len(found) == 1:
        return found[0]
    if found:
        exams = " or ".join(f"'exam {exam.number}'" for exam in found)
        raise WrongUseError(f"Tag {name} is there more than once: say {exams}.")
    raise WrongUseError(f"There is no animal '{name}': give its tag, or 'exam 3'.")


def tag_typed(text: str) -> str:
    """The digits of a tag. Raises WrongUseError for anything else."""
    if not (text.isascii() and text.isdigit()) or len(text) > LONGEST_TAG:
        raise WrongUseError(f"'{text}' is no tag: give its digits.")
    return text


def _finding(said: Said) -> Said | None:
    what = said.what
    if not isinstance(what, Command):
        return said
    if what.name is CommandName.NEXT_ANIMAL:
        return None if what.animal is None else Said(what.animal, said.start, said.end, said.words)
    raise WrongUseError(
        f"'{said.words}' is a spoken command, not a finding: use the keys of this page for it."
    )


def _words(said: tuple[Said, ...]) -> str:
    """The findings of a phrase as they are written."""
    return ", ".join(written(s.what) for s in said if not isinstance(s.what, Command))
