"""What becomes of each finding in the standard: a diagnosis, words for the remark, data for one
extra property; and what has no home in it, or is not ready to be sent.

A diagnosis is only what the vet named as a condition; a size, a wall or fluid is not. No code of
any scheme is given: a practice maps our names to its own table.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from dictation.records.icar.sender import SCHEME, Json, known
from dictation.records.one_line import one_line
from grammar.facts import ExamFacts
from grammar.fields import FIELDS, MM, main_of, numbers_of, usual
from grammar.figures import AgeSummary
from grammar.findings import (
    FINDING_NAMES,
    Animal,
    Conceptus,
    Condition,
    FetalSex,
    Finding,
    Measurement,
    Note,
    OvarianStructure,
    Ovary,
    Plan,
    PlanAction,
    Pregnancy,
    Side,
    UterineState,
    Uterus,
    Viability,
    finding_record,
)
from grammar.history import recheck_day
from grammar.wording import spaced, written

_OF_AN_OVARY = {
    OvarianStructure.FOLLICULAR_CYST: "Follicular cyst",
    OvarianStructure.LUTEAL_CYST: "Luteal cyst",
    OvarianStructure.CYST: "Ovarian cyst",
    OvarianStructure.PARAOVARIAN_CYST: "Paraovarian cyst",
    OvarianStructure.ADHESION: "Ovarian adhesion",
    OvarianStructure.TUMOUR: "Ovarian tumour",
}

_OF_THE_UTERUS = {
    UterineState.PYOMETRA: "Pyometra",
    UterineState.ENDOMETRITIS: "Endometritis",
    UterineState.METRITIS: "Metritis",
    UterineState.MUCOMETRA: "Mucometra",
    UterineState.ADHESION: "Uterine adhesion",
    UterineState.RETAINED_MEMBRANES: "Retained fetal membranes",
    UterineState.MUMMIFIED: "Mummified fetus",
    UterineState.MACERATED: "Macerated fetus",
    UterineState.SEGMENT_MISSING: "Missing segment of the tract",
    UterineState.FREEMARTIN: "Freemartin",
}

_POSITIONS = {
    Side.LEFT: ("OvariesLeft",),
    Side.RIGHT: ("OvariesRight",),
    Side.BOTH: ("OvariesLeft", "OvariesRight"),
}

KEPT_BACK = (PlanAction.TREAT, PlanAction.CULL, PlanAction.DO_NOT_BREED, PlanAction.TERMINATE)
"""Plans that a receiver could take for something done or decided; advice is neither."""

VERSION = "1"
MILLIMETRE = "MMT"
"""UN/CEFACT unit code."""

_PARTS = {"size_mm": "diameter", "second_size_mm": "second_diameter"}
_SAID_ONLY_IF_TRUE = frozenset(
    n for kind in FIELDS for n, value in usual(kind).items() if value is False
)
CONDITION = spaced(FINDING_NAMES[Condition])


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Something of one exam that is in no event. ``what`` in words, ``why`` in a clause."""

    exam: int
    tag: str | None
    what: str
    why: str


@dataclass(frozen=True, slots=True)
class OnlyInWords:
    """Kinds of findings that stand only in the remark and the extra property, and how many.

    ``due_dates``: how many expected calvings are known here and sent nowhere.
    """

    kinds: tuple[tuple[str, int], ...]
    due_dates: int = 0


def diagnoses(facts: ExamFacts) -> list[Json]:
    """The conditions named in an exam, ovaries first."""
    found = [_of_an_ovary(told.finding) for told in facts.ovaries if is_condition(told.finding)]
    found += [_of_the_uterus(t.finding) for t in facts.of(Uterus) if is_condition(t.finding)]
    if any(told.finding.loss for told in facts.of(Viability)):
        found.append({"name": "Loss of pregnancy", "site": "Uterus"})
    return found


def is_condition(finding: Ovary | Uterus) -> bool:
    """Whether a finding names a condition."""
    if isinstance(finding, Ovary):
        return finding.structure in _OF_AN_OVARY
    return finding.state in _OF_THE_UTERUS


def positions(side: Side | None) -> list[Json]:
    """The standard's position words of an ovary."""
    return [{"position": word} for word in _POSITIONS.get(side or Side.BODY, ("OvariesUnknown",))]


def _of_an_ovary(finding: Ovary) -> Json:
    site = {Side.BOTH: "Both ovaries", None: "Ovary"}.get(finding.side, f"{finding.side} ovary")
    return {
        "name": _OF_AN_OVARY[finding.structure],
        "description": sentence(written(finding)),
        "site": site.capitalize(),
        "positions": positions(finding.side),
    }


def _of_the_uterus(finding: Uterus) -> Json:
    part = {None: "uterus", Side.BODY: "body of the uterus", Side.BOTH: "both horns"}
    site = part.get(finding.side, f"{finding.side} horn")
    return {
        "name": _OF_THE_UTERUS[finding.state],
        "description": sentence(written(finding)),
        "site": spaced(site).capitalize(),
    }


def sentence(words: str) -> str:
    """Words as a sentence, with a capital and a full stop."""
    words = words.strip().rstrip(".")
    return f"{words[:1].upper()}{words[1:]}."


def is_kept_back(finding: Finding) -> bool:
    """Whether a finding is never sent."""
    return isinstance(finding, Plan) and finding.action in KEPT_BACK


def kind_of(finding: Finding) -> str:
    """A finding's kind as a reader counts it: 'corpus luteum', 'crown rump length'."""
    if isinstance(finding, Ovary):
        return spaced(finding.structure)
    if isinstance(finding, Uterus):
        return f"uterus {spaced(finding.state)}"
    if isinstance(finding, Measurement):
        return spaced(finding.quantity)
    if isinstance(finding, Plan):
        return f"plan to {spaced(finding.action)}"
    return spaced(FINDING_NAMES[type(finding)])


def counted(findings: Iterable[Finding], due_dates: int = 0) -> OnlyInWords:
    """How many there are of each kind that the standard has no field for."""
    kinds = Counter(kind_of(f) for f in findings if not _has_a_field(f))
    return OnlyInWords(
        tuple(sorted(kinds.items(), key=lambda pair: (-pair[1], pair[0]))), due_dates
    )


WHOLE = "the whole exam"


def left_out_words(left: tuple[LeftOut, ...], words: OnlyInWords) -> str:
    """The report for a person, in one line; empty where all was sent."""
    reasons: dict[tuple[str, str], list[str]] = {}
    for each in left:
        what = "a question" if each.what.startswith("a question") else each.what
        whose = each.tag or f"exam {each.exam}"
        reasons.setdefault((what, each.why), []).append(whose)
    parts = [
        f"{what} of {', '.join(dict.fromkeys(whose))} ({why})"
        for (what, why), whose in reasons.items()
    ]
    if words.kinds:
        kinds = ", ".join(f"{kind} {count}" for kind, count in words.kinds)
        condition = " (a score of another scale)" if CONDITION in dict(words.kinds) else ""
        parts.append(f"only in the remark and in ultrasoundExam: {kinds}{condition}")
    if words.due_dates:
        parts.append(f"expected calving of {words.due_dates}, which is reckoned and not observed")
    return f"Left out: {'; '.join(parts)}." if parts else ""


def _has_a_field(finding: Finding) -> bool:
    if isinstance(finding, Ovary | Uterus):
        return is_condition(finding)
    return isinstance(finding, Pregnancy | Conceptus | FetalSex | Note)


def sent(facts: ExamFacts) -> tuple[Finding, ...]:
    """The findings of an exam that may be sent, in the order of speech."""
    findings = facts.exam.findings
    return tuple(f for f in findings if not isinstance(f, Animal) and not is_kept_back(f))


def remark(facts: ExamFacts) -> str | None:
    """The exam as sentences; None where nothing was said that may be sent."""
    sentences = [sentence(_words(finding, facts)) for finding in sent(facts)]
    if facts.exam.started_at is None:
        sentences.append("Time of day not recorded.")
    return " ".join(sentences) or None


def ultrasound_exam(facts: ExamFacts, age: AgeSummary) -> Json:
    """The extra property: every finding as a flat record, and the measures in millimetres."""
    findings = sent(facts)
    reckoned = {"from": age.age_from, "days": age.age_days, "errorDays": age.age_error_days}
    record = {
        "scheme": f"{SCHEME}.exam",
        "version": VERSION,
        "findings": [_record(f) for f in findings],
        "age": known(reckoned) if None not in (age.age_days, age.age_from) else None,
        "measurements": [m for finding in findings for m in _measures(finding)] or None,
    }
    return known(record)


def _words(finding: Finding, facts: ExamFacts) -> str:
    if isinstance(finding, Note):
        return one_line(finding.text)
    if isinstance(finding, Plan) and finding.action is PlanAction.RECHECK:
        day = recheck_day(facts.exam)
        return "recheck" if day is None else f"recheck {day.isoformat()}"
    return written(finding)


def _record(finding: Finding) -> Json:
    """Without what is unknown, and without flags that only say how something was heard."""
    return {
        name: one_line(value) if isinstance(value, str) else value
        for name, value in known(finding_record(finding)).items()
        if value is not False or name not in _SAID_ONLY_IF_TRUE
    }


def _measures(finding: Finding) -> Iterable[Json]:
    """What was measured in millimetres: of a structure its parts, of a conceptus the quantity."""
    for field, size_mm in numbers_of(finding):
        if field.unit != MM:
            continue
        metric = str(main_of(finding))
        if not isinstance(finding, Measurement):
            metric += f"_{_PARTS.get(field.name, field.name.removesuffix('_mm'))}"
        measure = {
            "metric": {"scheme": f"{SCHEME}.metric", "id": metric},
            "value": int(size_mm) if float(size_mm).is_integer() else size_mm,
            "unit": MILLIMETRE,
            "fetus": finding.fetus if isinstance(finding, Measurement) else None,
            "positions": positions(finding.side) if isinstance(finding, Ovary) else None,
        }
        yield known(measure)
