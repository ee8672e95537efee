"""Every rule: an exam that raises it and one that does not, its source and its words."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from grammar.checks import COMMON_PRACTICE, RULES, Rule, check_exam, check_visit, explain
from grammar.exam import Severity
from grammar.findings import Plan, PlanAction, TreatmentClass
from tests.checks.cases_pregnancy import CASES as OF_PREGNANCY
from tests.checks.cases_tract import CASES as OF_TRACT
from tests.checks.exams import OPEN, Case, exam, flag_of, rules_of

CASES = (*OF_PREGNANCY, *OF_TRACT)
PG = TreatmentClass.PROSTAGLANDIN


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.rule)
def test_a_rule_is_raised_by_its_case_and_not_by_the_like_of_it(case: Case) -> None:
    assert case.rule in rules_of(case.fires)
    assert case.rule not in rules_of(case.quiet)


def test_every_rule_has_a_case_and_every_case_a_rule() -> None:
    assert {case.rule for case in CASES} == {rule.identifier for rule in RULES}


def test_rule_identifiers_are_unique_and_in_plain_words() -> None:
    names = [rule.identifier for rule in RULES]
    assert len(set(names)) == len(names)
    assert all(name.replace("_", "").isalpha() and name.islower() for name in names)


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.identifier)
def test_no_rule_is_without_a_source(rule: Rule) -> None:
    dated = re.search(r"\b(1[6-9]|20)\d\d\b", rule.source) is not None
    plain = (
        "arithmetic",
        "from memory",
        "CFR",
        "literature",
        "teaching page",
        "extension text",
        "(abstract)",
    )
    assert dated or COMMON_PRACTICE in rule.source or any(word in rule.source for word in plain)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.rule)
def test_a_flag_carries_one_or_more_sentences_and_the_source_of_its_rule(case: Case) -> None:
    flag = flag_of(case.fires, case.rule)
    rule = next(rule for rule in RULES if rule.identifier == case.rule)
    assert flag.source == rule.source
    assert flag.severity is rule.severity
    assert flag.why[0].isupper() or flag.why[0].isdigit()
    assert flag.why.rstrip()[-1] in ".)"
    numbers = {record.number for record in case.fires.recorded}
    assert set(flag.findings) <= numbers


def test_only_plans_that_would_end_a_pregnancy_stop() -> None:
    stops = {rule.identifier for rule in RULES if rule.severity is Severity.STOP}
    assert stops == {"plan_would_end_pregnancy"}


def test_explaining_a_rule_names_its_severity_and_source() -> None:
    text = explain("sex_cannot_be_seen")
    assert text is not None
    assert "query" in text
    assert "before day 52" in text
    assert explain("no_such_rule") is None


def test_where_prostaglandin_is_planned_people_are_warned() -> None:
    for case in CASES:
        if any(isinstance(f, Plan) and f.treatment_class is PG for f in case.fires.findings):
            warned = " ".join(flag.why for flag in check_exam(case.fires))
            assert "women of child-bearing age" in warned


def test_a_visit_says_its_caution_once() -> None:
    cows = [
        replace(exam(OPEN, Plan(PlanAction.TREAT, treatment_class=PG), tag=tag), number=number)
        for number, tag in ((1, "837"), (2, "412"), (3, "519"))
    ]
    said = [flag.why for flags in check_visit(cows).values() for flag in flags]
    assert sum("women of child-bearing age" in why for why in said) == 1


def test_no_flag_tells_the_vet_what_to_give() -> None:
    for case in CASES:
        for flag in check_exam(case.fires):
            assert not any(
                word in flag.why.lower() for word in ("inject", "administer", " dose of")
            )
