"""Phrases as spoken at the crush, and the queries and stops of the exam that they make."""

from __future__ import annotations

import pytest

from grammar import parse
from grammar.checks import check_exam
from grammar.exam import Exam, Severity
from grammar.findings import Finding
from tests.checks.exams import ON, exam, served

LOUD = (Severity.QUERY, Severity.STOP)


def spoken(*phrases: str, service_days_ago: int | None = None) -> Exam:
    """The exam of these phrases; fails where one cannot be read or can be read in two ways."""
    findings: list[Finding] = []
    for phrase in phrases:
        reading = parse(phrase, ON)
        assert reading.unread is None, (phrase, reading.unread)
        assert reading.others == (), phrase
        findings.extend(reading.findings)
    known = None if service_days_ago is None else served(service_days_ago)
    return exam(*findings, known=known)


def loud(checked: Exam) -> set[str]:
    """Rules that ask or stop; notes are left out."""
    return {flag.rule for flag in check_exam(checked) if flag.severity in LOUD}


@pytest.mark.parametrize(
    ("phrases", "rules"),
    [
        (("pregnant forty five days", "crown rump thirty"), set()),
        (("pregnant forty five days, crown rump twenty two",), {"age_stated_and_measured_differ"}),
        (("pregnant six weeks", "crown rump twenty eight"), set()),
        (("pregnant right horn", "left ovary CL twenty two"), {"corpus_luteum_on_other_side"}),
        (("pregnant right horn", "right ovary CL twenty two"), set()),
        (("pregnant forty days", "no CL left", "no CL right"), {"no_corpus_luteum_in_pregnancy"}),
        (("pregnant", "open"), {"pregnant_and_open"}),
        (("open", "no CL left", "left ovary CL twenty two"), {"structure_there_and_not_there"}),
        (("pregnant fifty days", "twins one each", "CL twenty two left", "CL twenty right"), set()),
        (("pregnant forty eight days", "bull calf"), {"sex_cannot_be_seen"}),
        (("pregnant sixty two days", "heifer calf"), set()),
        (("pregnant forty five days", "no heartbeat"), {"no_heartbeat"}),
        (("pregnant forty four days", "ribs seen"), {"landmark_before_its_day"}),
        (("pregnant forty five days", "treat prostaglandin"), {"plan_would_end_pregnancy"}),
        (("open", "left ovary CL twenty four", "treat prostaglandin"), set()),
        (("open", "pyometra", "left ovary CL twenty six"), set()),
        (("open", "pyometra", "left ovary static"), {"pyometra_without_corpus_luteum"}),
        (("open", "left ovary CL eighty"), {"size_of_ovarian_structure"}),
        (("open", "left ovary follicle two point four"), {"size_of_ovarian_structure"}),
    ],
)
def test_spoken_exams_raise_just_these_queries(phrases: tuple[str, ...], rules: set[str]) -> None:
    assert loud(spoken(*phrases)) == rules


def test_a_service_on_the_list_is_held_against_the_spoken_age() -> None:
    assert loud(spoken("pregnant forty five days", service_days_ago=46)) == set()
    assert loud(spoken("pregnant forty five days", service_days_ago=67)) == {
        "no_service_fits_the_age"
    }
