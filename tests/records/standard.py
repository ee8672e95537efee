"""A validator of the standard's events, and what the standard forgets to forbid."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

from jsonschema import Draft202012Validator, FormatChecker
from referencing import Registry, Resource
from referencing.jsonschema import DRAFT202012

SCHEMAS = Path(__file__).parent.parent / "icar_schemas"
BASE = "https://icar.invalid/"

FIELDS = {
    "icarReproPregnancyCheckEventResource": {
        "method",
        "result",
        "foetalAge",
        "foetusCount",
        "foetusCountMale",
        "foetusCountFemale",
        "ultrasoundExam",
    },
    "icarReproStatusObservedEventResource": {"observedStatus", "ultrasoundExam"},
    "icarDiagnosisEventResource": {"diagnoses"},
}
"""What an event may carry beside the fields that all have. The schemas let misspelt ones pass."""

COMMON = {
    "resourceType",
    "meta",
    "location",
    "id",
    "animal",
    "eventDateTime",
    "responsible",
    "remark",
}


@cache
def _registry() -> Registry[Any]:
    resources = [
        (
            BASE + path.relative_to(SCHEMAS).as_posix(),
            Resource.from_contents(json.loads(path.read_text(encoding="utf-8")), DRAFT202012),
        )
        for path in sorted(SCHEMAS.glob("*/*.json"))
    ]
    registry: Registry[Any] = Registry().with_resources(resources)
    return registry


def faults(event: dict[str, object]) -> list[str]:
    """Everything that is wrong with an event, by the schemas and by what they leave out."""
    kind = str(event["resourceType"])
    validator = Draft202012Validator(
        {"$ref": f"{BASE}resources/{kind}.json"},
        registry=_registry(),
        format_checker=FormatChecker(),
    )
    found = [error.message for error in validator.iter_errors(event)]
    found += [f"{name} is no field of {kind}" for name in set(event) - COMMON - FIELDS[kind]]
    return found + _nonsense(event)


def _nonsense(event: dict[str, object]) -> list[str]:
    found = []
    if not str(event.get("eventDateTime", "")).endswith("Z"):
        found.append("eventDateTime is not UTC")
    counts = [event.get(name) for name in ("foetusCountMale", "foetusCountFemale")]
    called = sum(count for count in counts if isinstance(count, int))
    total = event.get("foetusCount", 1)
    if isinstance(total, int) and called > total:
        found.append("more sexes than fetuses")
    if event.get("result") in {"Empty", "Unknown"} and {"foetalAge", "foetusCount"} & set(event):
        found.append("a fetus where there is none")
    age = event.get("foetalAge", 0)
    if not isinstance(age, int) or isinstance(age, bool) or not 0 <= age <= 310:
        found.append("no age of a fetus")
    if event.get("resourceType") == "icarReproPregnancyCheckEventResource":
        found += [f"{name} is missing" for name in ("method", "result") if name not in event]
    return found
