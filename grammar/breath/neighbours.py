"""Numbers and words that belong to their neighbour in a breath, and so speak against a reading.

Each function gives the problems of reading the item at ``index`` as it was read; 0 is none.
"""

from __future__ import annotations

from grammar.breath.draft import Against, Draft
from grammar.findings import Animal, Conceptus, Note, Ovary, Plan, PlanAction, Side, Uterus
from grammar.numbers import VALUES
from grammar.statements.items import Age

# Younger than can be seen (Curran et al. 1986: an embryo from day 19, see grammar/ageing);
# such a number behind a bare tag is more likely the rest of another number.
_TOO_YOUNG_DAYS = 18
_HEAT = (Note("on heat"), Note("in heat"))
# Without a unit these are more likely how many than how large.
_FEW = 5


def number_taken_from(draft: Draft, index: int) -> bool:
    """Whether an item opens with a number that belongs to its neighbour before.

    "CL twenty-two mil, follicle" is a sized CL and a follicle; neither a CL and a sized follicle
    nor a CL of twenty and a follicle of two.
    """
    before = draft.content(index - 1)
    if before is not None and draft.items[index - 1].start == draft.items[index].start:
        return False  # one statement of several findings
    if before is None or not _is_number(draft.normal[draft.items[index].start :].split(" ", 1)[0]):
        return False
    unsized = isinstance(before, Ovary) and before.size_mm is None
    if isinstance(before, Uterus) and before.depth_mm is None:
        # "fluid two centimetres, left ovary cyst": the place stands between, the size does not
        content = draft.content(index)
        unsized = isinstance(content, Ovary) and content.side is not None
    last_word = draft.normal[: draft.items[index - 1].end].rsplit(" ", 1)[-1]
    return unsized or _is_number(last_word)


def few_of_the_next(draft: Draft, index: int) -> bool:
    """ "CL on the left, two follicles": two is a count, not a size. 1 where it was taken as one."""
    content = draft.content(index)
    if not isinstance(content, Ovary) or not content.unit_assumed or content.size_mm is None:
        return False
    follows = content.side is not None and isinstance(draft.content(index + 1), Ovary)
    # of "two CLs, one each side" the one is no size either
    counted = content.count is not None or content.side is Side.BOTH
    return content.size_mm <= _FEW and (follows or counted)


def rest_of_a_number(draft: Draft, index: int, age: Age) -> int:
    """Problems where an age behind a bare tag is the rest of one number: "a hundred and twenty"."""
    before = draft.content(index - 1)
    if not isinstance(before, Animal) or not before.tag_alone:
        return 0
    between = draft.normal[draft.items[index - 1].end : draft.items[index].start].strip()
    return int(between == "and") + int(age.age_days <= _TOO_YOUNG_DAYS)


def belongs_to_neighbour(draft: Draft, index: int) -> int:
    """Problems where a word belongs to its neighbour: "single CL" is no calf, "serve on heat" does
    not say that she is on heat."""
    content, before = draft.content(index), draft.content(index - 1)
    single = isinstance(content, Conceptus) and content.count == 1
    if single and isinstance(draft.content(index + 1), Ovary):
        return Against.UNREADABLE
    breeding = isinstance(before, Plan) and before.action is PlanAction.BREED
    return int(breeding and content in _HEAT)


def _is_number(word: str) -> bool:
    return word != "a" and (word in VALUES or word[:1].isdigit())
