"""Which pictures go with a visit's list."""

from __future__ import annotations

from dictation.records.farm_list.part import tag_of
from dictation.records.pictures import charts
from dictation.records.pictures.picture import Picture
from dictation.records.pictures.tract import can_be_drawn, tract
from dictation.visit.state import Visit
from grammar.exam import Exam
from grammar.findings import Animal
from grammar.wording import written

CHARTS = (
    charts.ages,
    charts.calvings,
    charts.rechecks,
    charts.open_since_calving,
    charts.kinds,
)


def pictures(visit: Visit, drawn: frozenset[int] = frozenset()) -> tuple[Picture, ...]:
    """The charts, then the tract of each exam whose number is in ``drawn``."""
    made = [chart(visit.exams) for chart in CHARTS]
    tracts = [picture_of(e) for e in visit.exams if e.number in drawn and can_be_drawn(e)]
    return (*(picture for picture in made if picture is not None), *tracts)


def picture_of(exam: Exam) -> Picture:
    """The tract of one animal, with what was said of her."""
    words = "; ".join(written(f) for f in exam.findings if not isinstance(f, Animal))
    return Picture("tract", tag_of(exam), tract(exam), words)
