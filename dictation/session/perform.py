"""What a phrase does to the visit: findings recorded, commands obeyed, doubts asked."""

from __future__ import annotations

from dataclasses import replace

from dictation.session.animal import next_animal, record, take_animal
from dictation.session.answer import decide, said_again, spoken_answer
from dictation.session.asking import ask, either
from dictation.session.breath import Breath, say_apart, standing_of
from dictation.session.change import change_number, change_side, correct
from dictation.session.effects import Alternative, Instead, JoinBack, Keep
from dictation.session.exams import close_exam
from dictation.session.undo import scratch
from dictation.session.visit import Visit
from grammar.exam import Exam
from grammar.findings import Animal, Command, CommandName, Note, Said
from grammar.wording import written

DONE_EVEN_IF_UNSURE = frozenset(
    {
        CommandName.NEXT_ANIMAL,
        CommandName.RESUME,
        CommandName.READ_BACK,
        CommandName.HELP,
    }
)
"""Commands obeyed at once even where the hearing is doubtful, because not obeying is the worse
mistake: findings of the next animal would go to this one, or speech would go unrecorded. A doubtful
'next' is asked about afterwards, and 'no' joins the exams again. A doubtful 'close' waits for its
answer: the next tag closes the animal too."""


def perform(visit: Visit, breath: Breath, said: tuple[Said, ...]) -> Visit:
    """Do what is said, in the order of speech."""
    for place, each in enumerate(said):
        if isinstance(each.what, Command):
            command = each.what
            if _is_correction(command):
                return correct(visit, breath, said[place + 1 :])
            visit = _obey(visit, breath, command)
        elif isinstance(each.what, Animal):
            visit = take_animal(visit, breath, each.what, each.words)
        else:
            visit = record(visit, breath, each.what, each.words)
    return visit


def perform_sure(visit: Visit, breath: Breath, said: tuple[Said, ...]) -> Visit:
    """A phrase that was heard surely; it may be the answer to what was just asked."""
    choice = said_again(visit, said)
    query = visit.asked
    if choice is not None and query is not None:
        return decide(visit, query, choice, breath.text, perform)
    return perform(visit, breath, said)


def perform_doubtful(
    visit: Visit,
    breath: Breath,
    said: tuple[Said, ...],
    alternatives: tuple[tuple[Said, ...], ...],
) -> Visit:
    """A phrase that may have been another one.

    Its findings are recorded as queried and asked about. A command that would destroy or hide
    something waits for the answer, and the whole breath with it; so does a breath between animals
    that names none, because talk there is seldom a finding.
    """
    why = "; ".join(breath.doubts)
    commands = [each.what for each in said if isinstance(each.what, Command)]
    if any(command.name is CommandName.ANSWER for command in commands):
        return replace(visit, reply="That was not clear, please answer again.")
    words, *other_words = say_apart((said, *alternatives))
    others = tuple(
        Alternative(told, Instead(other))
        for told, other in zip(other_words, alternatives, strict=True)
    )
    if visit.in_hand is None and said and all(s.what == Command(CommandName.CLOSE) for s in said):
        return replace(visit, reply="No animal is in hand.")
    nobody_in_hand = visit.in_hand is None and not commands and not _names_animal(said)
    if nobody_in_hand or any(command.name not in DONE_EVEN_IF_UNSURE for command in commands):
        offered = (Alternative(words, Instead(said)), *others)
        return ask(visit, breath.utterance, either(offered), why, offered)
    before = visit.exam_in_hand
    visit = perform(visit, replace(breath, sure=False), said)
    if standing_of(visit, breath.utterance):
        offered = (Alternative(words, Keep()), *others)
        return ask(visit, breath.utterance, either(offered), why, offered)
    if any(command.name is CommandName.NEXT_ANIMAL for command in commands):
        return _ask_if_next(visit, breath, before, why)
    return visit


def _names_animal(said: tuple[Said, ...]) -> bool:
    return any(isinstance(each.what, Animal) for each in said)


def _is_correction(command: Command) -> bool:
    """'Correction, ...': the findings behind it stand for earlier ones."""
    changes = command.name is CommandName.CHANGE
    return changes and command.number is None and command.side is None


def _ask_if_next(visit: Visit, breath: Breath, before: Exam | None, why: str) -> Visit:
    """Was this really another animal?"""
    now = visit.exam_in_hand
    if before is None or now is None or now.number == before.number:
        return visit
    joined = JoinBack(now.number, before.number)
    offered = (Alternative("another animal", Keep()),)
    return ask(visit, breath.utterance, "Is this another animal?", why, offered, no=joined)


def _obey(visit: Visit, breath: Breath, command: Command) -> Visit:  # noqa: PLR0911 - one a command
    match command.name:
        case CommandName.NEXT_ANIMAL:
            visit = next_animal(visit, breath)
            if command.animal is None:
                return visit
            return take_animal(visit, breath, command.animal, breath.text)
        case CommandName.CLOSE:
            return close_exam(visit)
        case CommandName.CLOSE_VISIT:
            return replace(close_exam(visit), closed=True)
        case CommandName.SCRATCH:
            return scratch(visit, breath.utterance)
        case CommandName.CHANGE:
            return _change(visit, breath, command)
        case CommandName.ANSWER:
            return spoken_answer(visit, breath, command, perform)
        case _:
            return _obey_quietly(visit, command)


def _obey_quietly(visit: Visit, command: Command) -> Visit:
    """Commands that touch no finding."""
    match command.name:
        case CommandName.PAUSE:
            return replace(visit, paused=True, reply="Paused. Say 'resume' to go on.")
        case CommandName.RESUME:
            return replace(visit, paused=False, reply="Listening.")
        case CommandName.NOTE:
            return replace(visit, note_awaited=True, reply="The next words are kept as a note.")
        case CommandName.READ_BACK:
            return replace(visit, reply=read_back(visit))
        case _:
            return replace(visit, reply=HELP)


HELP = (
    "Say a cow's number, then what you see: 'left ovary CL twenty-two'. 'Next' for the next animal,"
    " 'scratch that' takes back the last phrase, 'make that twenty-four' changes its number."
)


def read_back(visit: Visit) -> str:
    """The animal in hand in one sentence."""
    exam = visit.exam_in_hand
    if exam is None:
        return "No animal is in hand."
    findings = [written(r.finding) for r in exam.standing]
    return f"{'; '.join(findings)}." if findings else "Nothing recorded yet."


def keep_note(visit: Visit, breath: Breath, text: str) -> Visit:
    """Words that were announced as a note."""
    visit = replace(visit, note_awaited=False)
    return record(visit, breath, Note(text), text)


def _change(visit: Visit, breath: Breath, command: Command) -> Visit:
    if command.number is not None:
        visit = change_number(visit, breath, command.number)
    if command.side is not None:
        visit = change_side(visit, breath, command.side)
    return visit
