"""Numbers and words that belong to their neighbour in a breath, and so speak against a reading.

Each function gives the problems of reading the item at ``index`` as it was read; 0 is none.
"""

from __future__ import annotations

from grammar.findings import Animal, Conceptus, Note, Ovary, Plan, PlanAction
from grammar.numbers import VALUES
from grammar.statements.items import Age, Item

# Problems of a piece that means nothing by itself.
UNREADABLE = 100
# Younger than can be seen (Curran et al. 1986: an embryo from day 19, see grammar/ageing);
# such a number behind a bare tag is more likely the rest of another number.
_TOO_YOUNG_DAYS = 18
_HEAT = (Note("on heat"), Note("in heat"))
# Without a unit these are more likely how many than how large.
_FEW = 5


def number_taken_from(items: list[Item], index: int, normal: str) -> bool:
    """Whether an item opens with a number that belongs to its neighbour before.

    "CL twenty-two mil, follicle" is a sized CL and a follicle; neither a CL and a sized follicle
    nor a CL of twenty and a follicle of two.
    """
    before = items[index - 1] if index else None
    if before is None or not _is_number(normal[items[index].start :].split(" ", 1)[0]):
        return False
    unsized = isinstance(before.content, Ovary) and before.content.size_mm is None
    return unsized or _is_number(normal[: before.end].rsplit(" ", 1)[-1])


def few_of_the_next(items: list[Item], index: int) -> int:
    """ "CL on the left, two follicles": two is a count, not a size. 1 where it was taken as one."""
    content = items[index].content
    following = items[index + 1].content if index + 1 < len(items) else None
    return int(
        isinstance(content, Ovary)
        and isinstance(following, Ovary)
        and content.side is not None
        and content.unit_assumed
        and content.size_mm is not None
        and content.size_mm <= _FEW
    )


def rest_of_a_number(items: list[Item], index: int, age: Age, normal: str) -> int:
    """Problems where an age behind a bare tag is the rest of one number: "a hundred and twenty"."""
    before = items[index - 1] if index else None
    if before is None or not isinstance(before.content, Animal) or not before.content.tag_alone:
        return 0
    between = normal[before.end : items[index].start].strip()
    return int(between == "and") + int(age.age_days <= _TOO_YOUNG_DAYS)


def belongs_to_neighbour(items: list[Item], index: int) -> int:
    """Problems where a word belongs to its neighbour: "single CL" is no calf, "serve on heat" does
    not say that she is on heat."""
    content = items[index].content
    following = items[index + 1].content if index + 1 < len(items) else None
    before = items[index - 1].content if index else None
    if isinstance(content, Conceptus) and content.count == 1 and isinstance(following, Ovary):
        return UNREADABLE
    breeding = isinstance(before, Plan) and before.action is PlanAction.BREED
    return int(breeding and content in _HEAT)


def _is_number(word: str) -> bool:
    return word != "a" and (word in VALUES or word[:1].isdigit())
