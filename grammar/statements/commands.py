"""What is told to the tool."""

from __future__ import annotations

from datetime import date

from grammar.findings import Animal, AnswerWord, Command, CommandName
from grammar.numbers import tag_digits
from grammar.statements.identity import IDENTITY
from grammar.statements.items import Content, Readers
from grammar.statements.places import spoken_side
from grammar.statements.sizes import SIZE_RULES, sizes, small_number
from grammar.statements.tree import Node, child, children

_COMMANDS: dict[str, Command] = {
    "scratch": Command(CommandName.SCRATCH),
    "read_back": Command(CommandName.READ_BACK),
    "close": Command(CommandName.CLOSE),
    "close_visit": Command(CommandName.CLOSE_VISIT),
    "pause": Command(CommandName.PAUSE),
    "resume": Command(CommandName.RESUME),
    "help": Command(CommandName.HELP),
    "take_note": Command(CommandName.NOTE),
    "correction": Command(CommandName.CHANGE),
    "yes": Command(CommandName.ANSWER, answer=AnswerWord.YES),
    "no": Command(CommandName.ANSWER, answer=AnswerWord.NO),
}
_CHOICES = {"first_choice": 1.0, "second_choice": 2.0, "third_choice": 3.0}


def _command(node: Node, _: date | None) -> list[Content]:
    only = children(node)[0]
    if only.data == "choice":
        number = _CHOICES[str(children(only)[0].data)]
        return [Command(CommandName.ANSWER, number=number, answer=AnswerWord.CHOICE)]
    return [_COMMANDS[str(only.data)]]


def _next(node: Node, visit_date: date | None) -> list[Content]:
    named = child(node, "next_named")
    if named is None:
        return [Command(CommandName.NEXT_ANIMAL)]
    only = children(named)[0]
    if only.data == "tag":
        named_animal: Content = Animal(tag=tag_digits(only), tag_alone=True)
    else:
        named_animal = IDENTITY[str(only.data)](only, visit_date)[0]
    return [
        Command(
            CommandName.NEXT_ANIMAL,
            animal=named_animal if isinstance(named_animal, Animal) else None,
        )
    ]


def _change_number(node: Node, _: date | None) -> list[Content]:
    size = next((c for c in children(node) if c.data in SIZE_RULES), None)
    if size is not None:
        return [Command(CommandName.CHANGE, number=sizes(size)[0])]
    return [Command(CommandName.CHANGE, number=small_number(children(node, "number_only")[0]))]


def _change_side(node: Node, _: date | None) -> list[Content]:
    return [Command(CommandName.CHANGE, side=spoken_side(child(node, "side_word")))]


COMMANDS: Readers = {
    "command": _command,
    "answer": _command,
    "next": _next,
    "change_number": _change_number,
    "change_side": _change_side,
}
