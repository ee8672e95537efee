"""What a phrase does: findings recorded, commands obeyed, doubts asked."""

from __future__ import annotations

from dataclasses import replace

from dictation.decide.answers import answer, spoken_answer
from dictation.decide.change import change_number, change_side, correct, said_last, turned
from dictation.decide.completing import give, gives_age
from dictation.decide.draft import Breath, Draft, record, standing_of
from dictation.decide.leaving import leave, leave_anyway, reopen
from dictation.decide.tags import back_to, leaves, next_animal, retag, take_animal
from dictation.decide.taking_back import scratch
from dictation.decide.waiting import wait_with_her
from dictation.visit.facts import TakenBack
from dictation.visit.parts import Alternative, Instead, Keep
from dictation.visit.state import Visit
from grammar.checks.identity import says_twice
from grammar.exam import FindingState
from grammar.findings import Animal, Command, CommandName, Finding, Note, Ovary, Said, Uterus
from grammar.wording import either, written

DONE_EVEN_IF_UNSURE = frozenset(
    {CommandName.NEXT_ANIMAL, CommandName.RESUME, CommandName.READ_BACK, CommandName.HELP}
)
"""Commands obeyed at once even where the hearing is doubtful, because not obeying is the worse
mistake: speech would go unrecorded. 'Next' is among them where it leaves no animal: what may leave
one opens and closes nothing before it is settled, and what follows waits (``waiting``). A doubtful
'close' waits for its answer: the next tag closes the animal too."""

HELP = (
    "Say a cow's number, then what you see: 'left ovary CL twenty-two'. 'Next' for the next animal,"
    " 'scratch that' takes back the last phrase, 'make that twenty-four' changes its number."
)


def perform(draft: Draft, breath: Breath, said: tuple[Said, ...]) -> None:
    """Do what is said, in the order of speech."""
    for place, each in enumerate(said):
        if isinstance(each.what, Command):
            if _is_correction(each.what):
                correct(draft, breath, said[place + 1 :])
                return
            _obey(draft, breath, each.what)
        elif isinstance(each.what, Animal):
            take_animal(draft, breath, each.what, each.words)
        elif not (len(said) == 1 and gives_age(draft, breath, each.what)):
            wait_with_her(draft, breath)
            if isinstance(each.what, Note) and says_twice(each.what):
                _of_both(draft, breath, each.what)
            record(draft, breath, each.what, each.words)


def _of_both(draft: Draft, breath: Breath, note: Note) -> None:
    """'She came through twice' is said of her other exam too."""
    exam = draft.visit.exam_in_hand
    state = FindingState.ACCEPTED if breath.sure else FindingState.QUERIED
    for other in () if exam is None else exam.tag_repeated_in:
        draft.record(note, other, state, note.text, breath.phrase)


def perform_sure(draft: Draft, breath: Breath, said: tuple[Said, ...]) -> None:
    """A phrase that was heard surely; it may be the answer to what was just asked."""
    query = draft.visit.asked
    choice = None if query is None else _said_again(draft.visit, said)
    if choice is not None and query is not None:
        answer(draft, query, choice, breath.phrase.text, perform)
    else:
        perform(draft, breath, said)


def _said_again(visit: Visit, said: tuple[Said, ...]) -> int | None:
    """Which alternative of the query just raised these words repeat, counted from 1.

    Only the very next phrase counts, and only where it says exactly what was offered: people
    answer "forty or fourteen?" by saying the whole phrase again.
    """
    query = visit.asked
    if query is None or visit.last_said != query.phrase:
        return None
    whats = tuple(each.what for each in said)
    for number, alternative in enumerate(query.alternatives, start=1):
        effect = alternative.effect
        if isinstance(effect, Keep):
            recorded = tuple(r.finding for r in standing_of(visit, query.phrase))
            if recorded == whats:
                return number
        if isinstance(effect, Instead) and tuple(s.what for s in effect.said) == whats:
            return number
    return None


def perform_doubtful(
    draft: Draft,
    breath: Breath,
    said: tuple[Said, ...],
    alternatives: tuple[tuple[Said, ...], ...],
) -> None:
    """A phrase that may have been another one.

    Its findings are recorded as queried and asked about. A command that would destroy or hide
    something waits for the answer, and the whole breath with it; so does what may be about another
    animal than that in hand, and a breath between animals that names none, because talk there is
    seldom a finding.
    """
    why = "; ".join(breath.phrase.doubts)
    commands = [each.what for each in said if isinstance(each.what, Command)]
    if any(command.name is CommandName.ANSWER for command in commands):
        draft.reply("That was not clear, please answer again.")
        return
    before = draft.visit.exam_in_hand
    if before is None and said and all(s.what == Command(CommandName.CLOSE) for s in said):
        draft.reply("No animal is in hand.")
        return
    words, *other_words = say_apart((said, *alternatives))
    others = tuple(
        Alternative(told, Instead(other))
        for told, other in zip(other_words, alternatives, strict=True)
    )
    nobody_in_hand = (
        before is None and not commands and not any(isinstance(s.what, Animal) for s in said)
    )
    leaving = before is not None and leaves(draft.visit, before, said)
    if (
        nobody_in_hand
        or leaving
        or any(command.name not in DONE_EVEN_IF_UNSURE for command in commands)
    ):
        offered = (Alternative(words, Instead(said)), *others)
        draft.ask(breath.phrase.number, either(a.words for a in offered), why, offered)
        return
    perform(draft, replace(breath, sure=False), said)
    if standing_of(draft.visit, breath.phrase.number):
        offered = (Alternative(words, Keep()), *others)
        draft.ask(breath.phrase.number, either(a.words for a in offered), why, offered)


def read_back(visit: Visit) -> str:
    """The animal in hand in one sentence."""
    exam = visit.exam_in_hand
    if exam is None:
        return "No animal is in hand."
    findings = [written(r.finding) for r in exam.standing]
    return f"{'; '.join(findings)}." if findings else "Nothing recorded yet."


def _is_correction(command: Command) -> bool:
    """'Correction, ...': the findings behind it stand for earlier ones."""
    changes = command.name is CommandName.CHANGE
    return changes and not any((command.number, command.side, command.other_side))


def _obey(draft: Draft, breath: Breath, command: Command) -> None:
    match command.name:
        case CommandName.NEXT_ANIMAL | CommandName.BACK_TO | CommandName.RETAG | CommandName.CLOSE:
            _whose_turn(draft, breath, command)
        case CommandName.CLOSE_VISIT:
            leave(draft, breath)
        case CommandName.CLOSE_ANYWAY:
            leave_anyway(draft, breath)
        case CommandName.REOPEN:
            reopen(draft, breath, perform)
        case CommandName.SCRATCH:
            _scratch(draft, breath)
        case CommandName.CHANGE | CommandName.SIZE:
            _change(draft, breath, command)
        case CommandName.AGAIN:
            _same_again(draft, breath, command)
        case CommandName.ANSWER:
            spoken_answer(draft, breath, command, perform)
        case _:
            _obey_quietly(draft, command)


def _whose_turn(draft: Draft, breath: Breath, command: Command) -> None:
    """Commands that say which animal is in hand, and what she is called."""
    match command.name:
        case CommandName.BACK_TO:
            back_to(draft, breath, command.animal)
        case CommandName.CLOSE:
            draft.close_exam()
        case CommandName.RETAG:
            assert command.animal is not None
            retag(draft, breath, command.animal)
        case _:
            next_animal(draft, breath)
            if command.animal is not None:
                take_animal(draft, breath, command.animal, breath.phrase.text)


def _change(draft: Draft, breath: Breath, command: Command) -> None:
    number = command.number
    if command.name is CommandName.SIZE:
        give(draft, breath, number, command.side)
        return
    if number is not None:
        change_number(draft, breath, number, command.instead_of)
    if command.side is not None or command.other_side:
        change_side(draft, breath, command.side)


def _same_again(draft: Draft, breath: Breath, command: Command) -> None:
    """All that was said of the animal before, or last, on the other side: asked once, and it stands
    only where it is confirmed."""
    if command.side is not None or command.other_side:
        found = [r for r in said_last(draft, breath) if isinstance(r.finding, Ovary | Uterus)]
        there = [(turned(r.finding, command.side), r) for r in found]
        mirrored = [(f, r.heard) for f, r in there if f is not None and f != r.finding]
        _ask_the_same(draft, breath, mirrored, "what was said last is to stand there too")
        return
    exams, exam = draft.visit.exams, draft.visit.exam_in_hand
    before = exams[-2] if exam is not None and len(exams) > 1 and exam is exams[-1] else None
    new = exam is not None and all(isinstance(r.finding, Animal) for r in exam.standing)
    same = [r for r in before.standing if not isinstance(r.finding, Animal)] if before else []
    again = [(r.finding, r.heard) for r in same] if new else []
    why = "what was said of the animal before is to stand for this one"
    _ask_the_same(draft, breath, again, why)


def _ask_the_same(draft: Draft, breath: Breath, same: list[tuple[Finding, str]], why: str) -> None:
    if not same:
        draft.ask(breath.phrase.number, "Say in words what is the same.", "nothing can be repeated")
        return
    words = ", ".join(written(finding) for finding, _ in same)
    said = tuple(Said(finding, 0, 0, heard) for finding, heard in same)
    offered = (Alternative(words, Instead(said)),)
    draft.ask(breath.phrase.number, f"The same again: {words}?", why, offered)


def _scratch(draft: Draft, breath: Breath) -> None:
    if draft.visit.closed:
        reopen(draft, breath, perform)
        return
    scratch(draft, breath.phrase.number)
    gone = [f.entry for f in draft.facts if isinstance(f, TakenBack)]
    phrase = draft.visit.phrase(draft.visit.acts[gone[-1]].phrase) if gone else None
    if phrase is not None and not draft.visit.reply:
        draft.reply(f"Taken back: {phrase.text}.")


def _obey_quietly(draft: Draft, command: Command) -> None:
    """Commands that touch no finding."""
    match command.name:
        case CommandName.PAUSE:
            draft.go("paused", True)
            draft.reply("Paused. Say 'resume' to go on.")
        case CommandName.RESUME:
            draft.go("paused", False)
            draft.reply("Listening.")
        case CommandName.NOTE:
            draft.go("note_awaited", True)
            draft.reply("The next words are kept as a note.")
        case CommandName.WAIT:
            draft.reply("Waiting.")
        case CommandName.READ_BACK:
            draft.reply(read_back(draft.visit))
        case _:
            draft.reply(HELP)


def say_apart(readings: tuple[tuple[Said, ...], ...]) -> tuple[str, ...]:
    """Each reading in the words that tell it from the others; what all share is left out."""
    worded = [[_say_one(each.what) for each in said] for said in readings]
    shared = set(worded[0]).intersection(*worded[1:]) if len(worded) > 1 else set()
    apart = [[words for words in each if words not in shared] for each in worded]
    if not all(apart):
        apart = worded
    return tuple(", ".join(each) for each in apart)


def _say_one(what: Finding | Command) -> str:
    if not isinstance(what, Command):
        return written(what)
    scratch_that = what.name is CommandName.SCRATCH
    words = "scratch that" if scratch_that else what.name.replace("_", " ")
    if what.name is CommandName.SIZE:
        size = "" if what.number is None else f"{what.number:g} mm "
        return f"{size}{what.side or ''}".strip()
    if what.animal is not None:
        words += f", {written(what.animal)}"
    if what.number is not None:
        words += f" to {what.number:g}"
    if what.side is not None:
        words += f" to {what.side}"
    return words
