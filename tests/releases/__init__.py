"""Visits written by earlier versions, each with the CSV files that version wrote.

``2026-11-25`` was written by commit f7dd6a0, ``2026-11-28`` by commit 4092176, both with
``write_visits.sh`` from what is in ``told``: phrases a line for ``replay``, lines for ``correct``,
utterances for a recogniser that hears what it is told to. ``demonstration`` is the shipped
recording, heard by the engine of that day; no sound is kept. Farms, animals and people are
invented. The earlier version wrote no questions.csv.

``never_written`` and ``stopped_short`` lost their power: no CSV file, and a last utterance that was
cut out and never heard. ``heard_again`` and ``gone_on`` were begun by f7dd6a0 and gone on with by
4092176, whose files they have: what the second wrote stands on its reading of the first's events.

``2026-11-28-facts`` is of the version that first wrote facts, told by phrases and deeds in
``write_facts.py``; ``dump.txt`` is what ``Journal.dump`` then said of each.

``2026-12-01-digests`` is of the version that first wrote digests of entries: ``doubtful`` told
again, a phrase then forgotten, and a note added that it was repaired.

These files are never written anew: they are what people have on their disks.
"""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

RELEASES = Path(__file__).parent

JOURNAL = "journal.sql"
DUMP = "dump.txt"

KEPT = [path.parent for path in sorted(RELEASES.glob(f"*/*/{JOURNAL}"))]

VISITS = tuple(
    path.relative_to(RELEASES).as_posix() for path in KEPT if not (path / DUMP).is_file()
)
"""Names of all visits kept of version 1, such as ``2026-11-25/plain``."""

OF_FACTS = tuple(path.relative_to(RELEASES).as_posix() for path in KEPT if (path / DUMP).is_file())
"""Names of those kept as facts, such as ``2026-11-28-facts/plain``."""


def restored(name: str, folder: Path) -> Path:
    """Lay the visit ``name`` out in ``folder`` as its version left it, but for the sound."""
    kept = RELEASES / name
    folder.mkdir(parents=True, exist_ok=True)
    with closing(sqlite3.connect(folder / "visit.sqlite")) as connection:
        connection.executescript((kept / JOURNAL).read_text(encoding="utf-8"))
    for path in kept.glob("*.csv"):
        shutil.copyfile(path, folder / path.name)
    return folder
