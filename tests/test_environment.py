"""What is installed is what was chosen: every distribution, indirect ones too."""

from __future__ import annotations

from importlib.metadata import distribution
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from tests.test_readme import README

CONSTRAINTS = Path(__file__).parent.parent / ".ci/constraints.txt"


def chosen() -> dict[str, str]:
    """Version by name, of every distribution that was chosen."""
    lines = CONSTRAINTS.read_text(encoding="utf-8").splitlines()
    pins = [Requirement(line) for line in lines if not line.startswith("#")]
    here = (pin for pin in pins if pin.marker is None or pin.marker.evaluate())
    return {canonicalize_name(pin.name): str(pin.specifier).removeprefix("==") for pin in here}


def needed(requirement: Requirement, found: dict[str, str], seen: set[str]) -> None:
    """Add to ``found`` the version installed of whatever a requirement leads to, by name."""
    asked = str(requirement)
    if asked in seen:
        return
    seen.add(asked)
    there = distribution(requirement.name)
    found[canonicalize_name(requirement.name)] = there.version
    for text in there.requires or ():
        each = Requirement(text)
        extras = requirement.extras or {""}
        if each.marker is None or any(each.marker.evaluate({"extra": e}) for e in extras):
            each.marker = None
            needed(each, found, seen)


def test_every_distribution_is_of_the_version_that_was_chosen() -> None:
    found: dict[str, str] = {}
    needed(Requirement("hornsweep[test]"), found, set())
    del found["hornsweep"]
    assert len(found) > 90
    pins = chosen()
    assert {name: pins.get(name) for name in found} == found


def test_both_commands_of_readme_install_what_was_chosen() -> None:
    commands = [line for line in README.splitlines() if line.startswith("python3 -m venv")]
    assert len(commands) == 2
    assert all("pip install --quiet -c .ci/constraints.txt " in line for line in commands)
