"""Which animal: a word and a tag, a bare tag, an electronic number."""

from __future__ import annotations

from datetime import date

from grammar.findings import Animal, AnimalClass
from grammar.numbers import digit_run, tag_digits
from grammar.statements.items import Content, Readers
from grammar.statements.tree import Node, child, children, named


def animal(node: Node, _: date | None) -> list[Content]:
    """An animal by a word or class and its tag; no tag makes an animal without one."""
    if child(node, "tag_missing"):
        return [Animal()]
    tags = children(node, "tag")
    # of "cow 412, sorry, 413" the last counts
    tag = tags[-1] if tags else None
    return [
        Animal(
            tag=None if tag is None else tag_digits(tag),
            listed=False if node.data == "animal_unlisted" else None,
            animal_class=named(child(node, "animal_class"), AnimalClass),
        )
    ]


def _tag_alone(node: Node, _: date | None) -> list[Content]:
    return [Animal(tag=tag_digits(children(node)[0]), tag_alone=True)]


def _electronic(node: Node, _: date | None) -> list[Content]:
    return [Animal(electronic_id=digit_run(children(node, "digits")[0]))]


IDENTITY: Readers = {
    "animal": animal,
    "animal_slip": animal,
    "animal_unlisted": animal,
    "tag_alone": _tag_alone,
    "electronic": _electronic,
}
