"""Putting it right: what a person asks for, by key, line or click, as the deed that does it.

The console, the keys while listening and the page all come through ``order``: a name, what it is
about, and what was typed: findings, as spoken or in short forms; an animal; a tag. Nothing is done
here; the deed is decided like any other input.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace

from dictation.decide.deciding import decide
from dictation.decide.draft import standing_of
from dictation.decide.people.history import Ends, ends_of, finding_words, stands
from dictation.decide.people.one_value import standing_for, with_one_value
from dictation.decide.people.signing import bars, cow, flags_now, passed_over, sure_exams, told_open
from dictation.decide.people.typed import exam_named, findings_typed, tag_typed, words_of
from dictation.decide.taking_back import PHRASES, last_to_redo, last_to_undo, why_not_taken_back
from dictation.errors import WrongUseError
from dictation.visit import inputs
from dictation.visit.inputs import By
from dictation.visit.parts import Fate, Phrase, Query
from dictation.visit.state import Visit
from grammar.exam import Exam, FindingState, RecordedFinding
from grammar.findings import Command, Finding, Said
from grammar.wording import written

__all__ = ["ORDERS", "About", "Order", "exam_named", "findings_typed", "order"]


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
    """What is to be done, and the sentence that says so once it is.

    ``asks``: what a person is told and asked before it is done, where it does more than they may
    see; ``others``: what they may have meant instead.
    """

    deed: inputs.Deed
    told: str
    asks: str = ""
    does: str = ""
    others: tuple[Order, ...] = ()

    @property
    def choices(self) -> tuple[Order, ...]:
        """What is offered where it asks, numbered from 1."""
        return (self, *self.others)

    def chosen(self, number: int) -> Order:
        """The order that was chosen. Raises WrongUseError where it was not offered."""
        if not 1 <= number <= len(self.choices):
            raise WrongUseError(f"There is no choice {number}: {len(self.choices)} are offered.")
        return self.choices[number - 1]


def order(visit: Visit, name: str, about: About, text: str = "") -> Order:
    """What a person asks for. Raises WrongUseError with what is wrong and what to do."""
    make = ORDERS.get(name)
    if make is None:
        raise WrongUseError(f"'{name}' is nothing that is known here.")
    made = make(visit, about, text)
    if name in _TELL_THEMSELVES:
        return made
    others = tuple(replace(each, told=_told(visit, each, about)) for each in made.others)
    return replace(made, told=_told(visit, made, about), others=others)


def _told(visit: Visit, made: Order, about: About) -> str:
    """Which animal, and what became what."""
    done = _paired(ends_of(decide(visit, made.deed, By(""))))
    changed = [ends for ends in done if stands(ends[0]) != stands(ends[1])]
    told = (each for ends in changed or done for each in finding_words(*ends))
    words = "; ".join(told) or made.told
    placed = next((each for ends in done for each in ends if each is not None), None)
    exam = visit.exam(about.exam if placed is None else placed.exam)
    return f"{words.rstrip('.')}." if exam is None else f"{cow(exam)}: {words.rstrip('.')}."


def _paired(done: list[Ends]) -> list[Ends]:
    """One finding that went and the one of its kind that came are one that became another."""
    gone = [ends for ends in done if stands(ends[0]) and not stands(ends[1])]
    came = [ends for ends in done if stands(ends[1]) and not stands(ends[0])]
    if len(gone) != 1 or len(came) != 1:
        return done
    (was, _), (_, now) = gone[0], came[0]
    if was is None or now is None or type(was.recorded.finding) is not type(now.recorded.finding):
        return done
    return [(was, now), *(ends for ends in done if ends not in (gone[0], came[0]))]


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
    made = Order(
        inputs.PhrasePutRight(phrase.number, text, said), f"It says now: {words_of(said)}."
    )
    asks = _loses(visit, made.deed)
    if not asks:
        return made
    others: tuple[Order, ...] = ()
    exam = visit.exam(phrase.exam)
    if exam is not None:
        elsewhere = (r for r in exam.standing if r.phrase != phrase.number)
        add = inputs.PhraseInserted(exam.number, text, said)
        keep = f"Add {words_of(said)}, and take nothing away"
        others = (*_instead(elsewhere, said), Order(add, made.told, does=keep))
    return replace(made, asks=asks, does="Do that", others=others)


def _loses(visit: Visit, deed: inputs.Deed) -> str:
    """What retyping takes away, changes and adds, where that is more than one value."""
    ends = ends_of(decide(visit, deed, By("")))
    done = [(stands(was), stands(now)) for was, now in ends if stands(was) != stands(now)]
    if len(done) < 2 or all(was is None for was, _ in done):
        return ""
    kinds = (
        ("Takes away", [was for was, now in done if was and now is None]),
        ("Changes", [f"{was} to {now}" for was, now in done if was and now]),
        ("Adds", [now for was, now in done if now and was is None]),
    )
    return " ".join(f"{kind}: {', '.join(words)}." for kind, words in kinds if words)


def _instead(standing: Iterable[RecordedFinding], said: tuple[Said, ...]) -> Iterator[Order]:
    """One finding that fits another that stands may be meant for that one."""
    findings = [each.what for each in said if not isinstance(each.what, Command)]
    meant = standing_for(tuple(standing), findings[0]) if len(findings) == 1 else None
    if meant is not None and meant.finding != findings[0]:
        yield _becomes(meant, findings[0])


def _value(visit: Visit, about: About, text: str) -> Order:
    """One value of one finding; ``text`` begins with its place in the phrase, where none is meant:
    '2 26'."""
    number, value = about.finding, text
    if number is None:
        place, _, value = text.partition(" ")
        number = _place(visit, about, place).number
    recorded = visit.recorded(number)
    if recorded is None or recorded.state is FindingState.WITHDRAWN:
        raise WrongUseError("That finding is not there any more.")
    if not value.strip():
        raise WrongUseError("No value was typed: '26', 'right' or 'follicle', as it should be.")
    return _becomes(recorded, with_one_value(recorded.finding, value.strip(), visit.on_date))


def _becomes(recorded: RecordedFinding, now: Finding) -> Order:
    words = f"{written(recorded.finding)} became {written(now)}"
    deed = inputs.FindingChanged(recorded.number, recorded.finding, now)
    does = f"Change {written(recorded.finding)} to {written(now)} instead"
    return Order(deed, f"{words}.", does=does)


def _place(visit: Visit, about: About, place: str) -> RecordedFinding:
    """A finding by its place in the phrase that is looked at, or among all of the animal."""
    if about.phrase is not None:
        standing = standing_of(visit, _on_record(visit, about).number)
    else:
        standing = _exam(visit, about).standing
    numbers = {str(number): r for number, r in enumerate(standing, start=1)}
    if place not in numbers:
        raise WrongUseError(f"There is no finding {place} here: {len(standing)} are recorded.")
    return numbers[place]


def _insert(visit: Visit, about: About, text: str) -> Order:
    """A phrase that was missed: whatever phrase is looked at has nothing to do with it."""
    return _take_up(visit, replace(about, phrase=None), text)


def _take_up(visit: Visit, about: About, text: str) -> Order:
    said = findings_typed(text, visit.on_date)
    exam, phrase = _exam(visit, about), visit.phrase(about.phrase)
    refused = phrase.number if phrase is not None and phrase.fate is Fate.REFUSED else None
    deed = inputs.PhraseInserted(exam.number, text, said, refused)
    made = Order(deed, f"Added: {words_of(said)}.", does="Add it")
    like = tuple(_instead(exam.standing, said)) if refused is None else ()
    asks = "She has one like it already." if like else ""
    return replace(made, asks=asks, others=like)


def _withdraw(visit: Visit, about: About, text: str) -> Order:
    """One finding, or the whole phrase; ``text``: which of the phrase's findings, from 1."""
    if about.finding is not None:
        recorded = visit.recorded(about.finding)
        if recorded is None:
            raise WrongUseError("That finding is not there any more.")
        return Order(
            inputs.FindingWithdrawn(about.finding), f"Withdrawn: {written(recorded.finding)}."
        )
    if text:
        return _withdraw(visit, About(finding=_place(visit, about, text).number), "")
    phrase = _on_record(visit, about)
    if not standing_of(visit, phrase.number):
        raise WrongUseError("Nothing of this phrase is recorded.")
    deed = inputs.PhrasePutRight(phrase.number, "", ())
    return Order(deed, "Withdrawn.", asks=_loses(visit, deed), does="Withdraw all of it")


def _move(visit: Visit, about: About, text: str) -> Order:
    target = exam_named(visit, text)
    deed = inputs.PhraseMoved(_on_record(visit, about).number, target.number)
    return Order(deed, f"Moved to {cow(target)}.")


def _merge(visit: Visit, about: About, text: str) -> Order:
    into = exam_named(visit, text)
    return Order(
        inputs.ExamsMerged(_exam(visit, about).number, into.number), f"Merged: {cow(into)}."
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
    """An animal, 'visit', or 'sure': all of which nothing is open. What is open is asked first."""
    every = {each.number for each in visit.exams}
    if text == "sure":
        return _approve_sure(visit, every)
    exam = None if text == "visit" else _exam(visit, about)
    scope = every if exam is None else {exam.number}
    flags = flags_now(visit, scope)
    barred = bars(visit, scope, flags)
    if barred:
        raise WrongUseError(f"Not approved. {' '.join(barred)}")
    left = passed_over(visit, None if exam is None else exam.number, flags)
    named = "The visit" if exam is None else cow(exam)
    deed = inputs.ExamApproved(None if exam is None else exam.number)
    asks = f"{told_open(visit, left)}. Approve as it is?" if left else ""
    covered = f", {len(scope)} animals" if exam is None else ""
    opened = f", {len(left)} left open" if left else ""
    return Order(deed, f"{named} is approved{covered}{opened}.", asks, "Approve as it is")


def _approve_sure(visit: Visit, every: set[int]) -> Order:
    sure = sure_exams(visit, flags_now(visit, every))
    if not sure:
        raise WrongUseError("No animal is left of which nothing is open.")
    deed = inputs.ExamApproved(None, sure)
    left = sum(exam.approved is None for exam in visit.exams) - len(sure)
    return Order(deed, f"Approved: {len(sure)} animals that are sure; {left} are left.")


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
    "value": _value,
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

_TELL_THEMSELVES = frozenset({"move", "merge", "split", "add", "approve", "undo", "redo"})
"""Orders whose own sentence says more than what became of the findings."""


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
