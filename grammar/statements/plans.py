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
    score = children(node, "score")[0]
    scale = child(node, "scale")
    return [Condition(small_number(score), None if scale is None else cardinal(words_of(scale)))]


def _plan(node: Node, visit_date: date | None) -> list[Content]:
    name = str(children(node)[0].data)
    action = PlanAction.RECHECK if name == "back_word" else PlanAction(name)
    if node.data == "back_in":  # "recheck in thirty": days, as people say it
        return [Plan(action, cardinal(words_of(children(node, "n99_number")[0])))]
    in_days, on_date = _when(node, visit_date, later=True)
    return [Plan(action, in_days, on_date)]


def _treat(node: Node, visit_date: date | None) -> list[Content]:
    treatment = named(child(node, "treatment"), TreatmentClass)
    in_days, on_date = _when(node, visit_date, later=True)
    return [Plan(PlanAction.TREAT, in_days, on_date, treatment)]


_DEVICE = (TreatmentClass.PROGESTERONE_DEVICE, TreatmentClass.DEVICE_REMOVAL)


def _device_in_out(node: Node, visit_date: date | None) -> list[Content]:
    when = [c for c in children(node) if c.data in _DAYS_IN or str(c.data).startswith("on_")]
    days = (_day(part, visit_date, later=True) for part in when)
    return [Plan(PlanAction.TREAT, *day, kind) for day, kind in zip(days, _DEVICE, strict=True)]


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
    days = (_day(part, visit_date, later=later) for part in children(node))
    return next((day for day in days if day != (None, None)), (None, None))


def _day(part: Node, visit_date: date | None, *, later: bool) -> tuple[int | None, date | None]:
    if part.data in {"on_weekday", "on_weekday_week"}:
        day = _next_weekday(words_of(children(part, "weekday")[0])[0], visit_date)
        return None, day + timedelta(DAYS_IN_WEEK if part.data == "on_weekday_week" else 0)
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
    said = words_of(node)[child(node, "article") is not None :]
    return [Note(" ".join(said))]


def _note(node: Node, _: date | None) -> list[Content]:
    # the words behind "note", which may stand behind "take a"
    return [Note(str(node.children[-1]).split(" ", 1)[1])]


PLANS: Readers = {
    "condition": _condition,
    "plan": _plan,
    "treat": _treat,
    "back_when": _plan,
    "back_in": _plan,
    "device_in_out": _device_in_out,
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
