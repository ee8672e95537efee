"""Condition, plan, history and notes."""

from __future__ import annotations

from datetime import date, timedelta

from grammar.findings import Condition, History, Note, PastEvent, Plan, PlanAction, TreatmentClass
from grammar.numbers import (
    DAYS_IN_FORTNIGHT,
    DAYS_IN_MONTH,
    DAYS_IN_WEEK,
    MONTHS,
    WEEKDAYS,
    cardinal,
    ordinal,
    words_of,
)
from grammar.statements.items import (
    Content,
    Node,
    Readers,
    UnresolvedDateError,
    child,
    children,
    named,
)
from grammar.statements.sizes import small_number


def _condition(node: Node, _: date | None) -> list[Content]:
    score = next(c for c in children(node) if str(c.data).startswith("score"))
    words = words_of(score)
    if "quarters" in words or score.data == "score_three_quarters":
        value = cardinal(words[: words.index("and")]) + 0.75
    elif score.data == "score_quarter":
        value = cardinal(words[: words.index("and")]) + 0.25
    else:
        value = small_number(score)
    scale = child(node, "scale")
    return [Condition(value, None if scale is None else cardinal(words_of(scale)))]


def _plan(node: Node, visit_date: date | None) -> list[Content]:
    name = str(children(node)[0].data)
    action = PlanAction.RECHECK if name == "back_word" else PlanAction(name)
    in_days, on_date = _when(node, visit_date, later=True)
    return [Plan(action, in_days, on_date)]


def _treat(node: Node, visit_date: date | None) -> list[Content]:
    treatment = named(child(node, "treatment"), TreatmentClass)
    in_days, on_date = _when(node, visit_date, later=True)
    return [Plan(PlanAction.TREAT, in_days, on_date, treatment)]


_DAYS_IN = {
    "in_days": 1,
    "in_weeks": DAYS_IN_WEEK,
    "in_one_week": DAYS_IN_WEEK,
    "in_fortnight": DAYS_IN_FORTNIGHT,
    "in_months": DAYS_IN_MONTH,
    "in_one_month": DAYS_IN_MONTH,
    "on_this_day": 0,
    "on_next_day": 1,
}


def _when(node: Node, visit_date: date | None, *, later: bool) -> tuple[int | None, date | None]:
    """Days from the visit, or the day named."""
    for part in children(node):
        if part.data == "on_weekday":
            return None, _next_weekday(words_of(children(part, "weekday")[0])[0], visit_date)
        if part.data == "on_date":
            return None, _date(children(part, "day_of_month")[0], visit_date, later=later)
        if str(part.data) in _DAYS_IN:
            number = child(part, "n99_number")
            count = 1 if number is None else cardinal(words_of(number))
            return count * _DAYS_IN[str(part.data)], None
    return None, None


def _date(node: Node, visit_date: date | None, *, later: bool) -> date:
    """The next such day after the visit for a plan, the last one before it for history."""
    if visit_date is None:
        raise UnresolvedDateError
    day = ordinal(words_of(children(node, "ordinal")[0]))
    month = MONTHS[words_of(children(node, "month")[0])[0]]
    step = 1 if later else -1
    for year in range(visit_date.year, visit_date.year + 9 * step, step):
        try:
            found = date(year, month, day)
        except ValueError:  # 29 February, or a day that no year has
            continue
        if (found >= visit_date) if later else (found <= visit_date):
            return found
    raise UnresolvedDateError


def _next_weekday(day: str, visit_date: date | None) -> date:
    """The first such day after the visit: "on friday", said on a friday, is a week off."""
    if visit_date is None:
        raise UnresolvedDateError
    ahead = (WEEKDAYS.index(day) - visit_date.weekday() - 1) % DAYS_IN_WEEK + 1
    return visit_date + timedelta(days=ahead)


def _history(node: Node, visit_date: date | None) -> list[Content]:
    name = str(node.data)
    event = PastEvent.SERVED if name.startswith("served") else PastEvent.CALVED
    if name.endswith("_on"):
        day = children(node, "day_of_month")[0]
        return [History(event, on_date=_date(day, visit_date, later=False))]
    span = child(node, "span") or node
    weeks = name == "milking_weeks" or child(span, "weeks")
    factor = DAYS_IN_WEEK if weeks else DAYS_IN_MONTH if child(span, "months") else 1
    return [History(event, days_ago=cardinal(words_of(children(span, "n_age")[0])) * factor)]


def _words_as_note(node: Node, _: date | None) -> list[Content]:
    return [Note(" ".join(words_of(node)))]


def _note(node: Node, _: date | None) -> list[Content]:
    # the words behind "note", which may stand behind "take a"
    return [Note(str(node.children[-1]).split(" ", 1)[1])]


PLANS: Readers = {
    "condition": _condition,
    "plan": _plan,
    "treat": _treat,
    "back_when": _plan,
    "served_ago": _history,
    "served_on": _history,
    "calved_ago": _history,
    "calved_on": _history,
    "milking": _history,
    "milking_weeks": _history,
    "remark": _words_as_note,
    "dry_kept": _words_as_note,
    "note": _note,
}
