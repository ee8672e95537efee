"""What is told to the tool, and which animal: by a word, a tag, an electronic number."""

from __future__ import annotations

from datetime import date

from grammar.findings import Animal, AnimalClass, AnswerWord, Command, CommandName, Note, TagColour
from grammar.numbers import digit_run, tag_digits, words_of
from grammar.statements.items import (
    Content,
    Node,
    Reader,
    Readers,
    Same,
    child,
    children,
    named_if,
)
from grammar.statements.places import spoken_side
from grammar.statements.sizes import SIZE_RULES, millimetres, sizes, small_number

_COMMANDS: dict[str, Command] = {
    "scratch": Command(CommandName.SCRATCH),
    "read_back": Command(CommandName.READ_BACK),
    "close": Command(CommandName.CLOSE),
    "close_visit": Command(CommandName.CLOSE_VISIT),
    "pause": Command(CommandName.PAUSE),
    "resume": Command(CommandName.RESUME),
    "help": Command(CommandName.HELP),
    "again": Command(CommandName.AGAIN),
    "wait": Command(CommandName.WAIT),
    "take_note": Command(CommandName.NOTE),
    "correction": Command(CommandName.CHANGE),
    "reopen": Command(CommandName.REOPEN),
    "close_anyway": Command(CommandName.CLOSE_ANYWAY),
    "yes": Command(CommandName.ANSWER, answer=AnswerWord.YES),
    "no": Command(CommandName.ANSWER, answer=AnswerWord.NO),
    "leave_it": Command(CommandName.ANSWER, answer=AnswerWord.LEAVE),
}
_CHOICES = {"first_choice": 1.0, "second_choice": 2.0, "third_choice": 3.0}


def _animal(node: Node, _: date | None) -> list[Content]:
    """An animal by a word or class and its tag; no tag makes an animal without one."""
    if child(node, "tag_missing"):
        return [Animal()]
    tags = children(node, "tag")
    # of "cow 412, sorry, 413" the last counts
    tag = tags[-1] if tags else None
    digits = None if tag is None else tag_digits(tag)
    listed = False if node.data == "animal_unlisted" else None
    of_class = named_if(child(node, "animal_class"), AnimalClass)
    colour = named_if(child(node, "colour") or child(node, "tag_colour"), TagColour)
    return [Animal(tag=digits, listed=listed, animal_class=of_class, tag_colour=colour)]


def _tag_alone(node: Node, _: date | None) -> list[Content]:
    return [Animal(tag=tag_digits(children(node)[0]), tag_alone=True)]


def _electronic(node: Node, _: date | None) -> list[Content]:
    return [Animal(electronic_id=digit_run(children(node, "digits")[0]))]


def _command(node: Node, _: date | None) -> list[Content]:
    only = children(node)[0]
    if only.data == "choice":
        number = _CHOICES[str(children(only)[0].data)]
        return [Command(CommandName.ANSWER, number=number, answer=AnswerWord.CHOICE)]
    return [_COMMANDS[str(only.data)]]


def _untagged(node: Node, _: date | None) -> list[Content]:
    described = children(node, "described")[0]
    of_class = child(described, "heifer") or child(described, "first_calver")
    animal = Animal(animal_class=None if of_class is None else AnimalClass(str(of_class.data)))
    return [animal, Note(" ".join(words_of(described)))]


def _naming(name: CommandName) -> Reader:
    """A command, and the animal that is named with it, if any."""
    return lambda node, visit_date: _named(name, node, visit_date)


def _named(name: CommandName, node: Node, visit_date: date | None) -> list[Content]:
    with_name = child(node, "next_named")
    if with_name is None:
        return [Command(name)]
    only = children(with_name)[0]
    rule = "tag_alone" if only.data == "tag" else str(only.data)
    (animal,) = COMMANDS[rule](with_name if only.data == "tag" else only, visit_date)
    assert isinstance(animal, Animal)
    return [Command(name, animal=animal)]


def _renamed(node: Node, visit_date: date | None) -> list[Content]:
    """ "No, cow 518": the animal is a correction."""
    animal = children(node)[-1]
    return [_COMMANDS["correction"], *COMMANDS[str(animal.data)](animal, visit_date)]


def _change_number(node: Node, _: date | None) -> list[Content]:
    size = next((c for c in children(node) if c.data in SIZE_RULES), None)
    bare = children(node, "number_only")
    number = sizes(size)[0] if size is not None else small_number(bare[0])
    return [Command(CommandName.CHANGE, number=number)]


def _change_side(node: Node, _: date | None) -> list[Content]:
    other = True if child(node, "other_side") else None
    meant = [child(node, "side_meant"), *children(node, "side_word")[-1:]]
    side = next((s for each in meant if (s := spoken_side(each)) is not None), None)
    return [Command(CommandName.CHANGE, side=side, other_side=other)]


def _number_instead(node: Node, _: date | None) -> list[Content]:
    """ "Sixteen mil, not sixty", "not sixty, sixteen": the unit is that of either."""
    said = children(node, "said_number")
    unit = next((u for each in said if (u := child(each, "size_unit")) is not None), None)
    numbers = [millimetres(small_number(children(each, "n_size")[0]), unit) for each in said]
    wrong_first = children(node)[0].data == "not_word"
    right, wrong = reversed(numbers) if wrong_first else numbers
    return [Command(CommandName.CHANGE, number=right, instead_of=wrong)]


def _size_alone(node: Node, _: date | None) -> list[Content]:
    number = child(node, "small_size") or children(node, "n99_number")[0]
    size = millimetres(small_number(number), child(node, "size_unit"))
    side = spoken_side(child(node, "side_said") or child(node, "side"))
    return [Command(CommandName.SIZE, number=size, side=side)]


def _same_there(node: Node, _: date | None) -> list[Content]:
    return [Same(spoken_side(child(node, "side")))]


COMMANDS: Readers = {
    "animal": _animal,
    "animal_slip": _animal,
    "animal_unlisted": _animal,
    "animal_coloured": _animal,
    "tag_alone": _tag_alone,
    "electronic": _electronic,
    "command": _command,
    "answer": _command,
    "next": _naming(CommandName.NEXT_ANIMAL),
    "back": _naming(CommandName.BACK_TO),
    "retag": _naming(CommandName.RETAG),
    "renamed": _renamed,
    "untagged": _untagged,
    "change_number": _change_number,
    "change_side": _change_side,
    "correcting": lambda _, __: [_COMMANDS["correction"]],
    "number_corrected": _change_number,
    "number_instead": _number_instead,
    "size_alone": _size_alone,
    "same_there": _same_there,
}
