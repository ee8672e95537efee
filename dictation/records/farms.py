"""The farms a practice goes to: what each is called, its herd list, and where its visits lie.

Kept in ``farms.toml`` of the configuration folder, one table a farm, and may be edited.
"""

from __future__ import annotations

import json
import tomllib
from dataclasses import dataclass
from pathlib import Path

from platformdirs import user_config_path

from dictation.disk import replace_file
from dictation.errors import BadInputError, WrongUseError
from dictation.visit.journal import JOURNAL_NAME

FARMS_NAME = "farms.toml"
_FIELDS = frozenset({"called", "herd", "visits"})
_HOW = "hornsweep farm NAME --herd LIST --visits DIR"


@dataclass(frozen=True, slots=True)
class Farm:
    """``name``: the short one that is typed. ``called``: as it stands on lists."""

    name: str
    called: str
    herd: Path | None
    visits: Path

    @property
    def earlier(self) -> tuple[Path, ...]:
        """The folders of its visits."""
        return tuple(sorted(path.parent for path in self.visits.glob(f"*/{JOURNAL_NAME}")))


def farms_file() -> Path:
    """Where the farms are kept."""
    return user_config_path("hornsweep") / FARMS_NAME


def farms() -> dict[str, Farm]:
    """All farms by their names; none where no file is there. Raises BadInputError."""
    path = farms_file()
    try:
        tables = tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return {}
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise BadInputError(f"{path} cannot be read ({error}): put it right.") from error
    found = {}
    for name, table in tables.items():
        wrong = not isinstance(table, dict) or not all(isinstance(v, str) for v in table.values())
        if wrong or not set(table) <= _FIELDS or "visits" not in table:
            wanted = ", ".join(sorted(_FIELDS))
            raise BadInputError(f"{path}: [{name}] wants visits, of {wanted}, all as text.")
        herd = Path(table["herd"]).expanduser() if "herd" in table else None
        visits = Path(table["visits"]).expanduser()
        found[name] = Farm(name, table.get("called", name), herd, visits)
    return found


def farm_named(name: str) -> Farm:
    """The farm of a name. Raises WrongUseError with those that are there."""
    every = farms()
    if name in every:
        return every[name]
    known = f"there are {', '.join(every)}" if every else "none is registered yet"
    raise WrongUseError(f"There is no farm '{name}' ({known}): register it with '{_HOW}'.")


def keep_farm(farm: Farm) -> Path:
    """Register a farm, or change it; where it was written. Raises MissingError."""
    every = {**farms(), farm.name: farm}
    lines = ["# Farms of the practice, one table each: called, herd (its list), visits (a folder)."]
    for each in every.values():
        lines += [f"[{json.dumps(each.name)}]", f"called = {_text(each.called)}"]
        lines += [f"herd = {_text(str(each.herd))}"] if each.herd is not None else []
        lines.append(f"visits = {_text(str(each.visits))}")
    path = farms_file()
    path.parent.mkdir(parents=True, exist_ok=True)
    replace_file(path, ("\n".join(lines) + "\n").encode("utf-8"))
    return path


def _text(words: str) -> str:
    return json.dumps(words, ensure_ascii=False)
