#!/usr/bin/env bash
# Writes the visits of one version: write_visits.sh CHECKOUT PYTHON OUT [EARLIER]
#
# CHECKOUT is a working copy of that version, PYTHON an interpreter in which its dependencies are
# installed, OUT a folder. The visits go to OUT/visits, and what is kept of each (its journal as
# SQL, its CSV files) to OUT/kept. The demonstration is heard, which takes minutes. With EARLIER, a
# working copy of an earlier version, two visits are begun by that one and gone on with by this one.
set -euo pipefail
told=$(cd "$(dirname "$0")/told" && pwd)
python=$(realpath -s "$2")
mkdir -p "$3/visits" "$3/kept"
out=$(cd "$3" && pwd)
visits=$out/visits
cd "$1"
export PYTHONPATH=.
day=2026-11-18T09:00
hornsweep() { "$python" -m dictation "$@" >/dev/null; }
typed() { hornsweep replay "$told/$1.txt" --out "$visits/$1" --date $day "${@:2}"; }

typed plain
typed bare_numbers
typed spoken_changes
typed herd_list --herd "$told/farm.csv"
typed desk --herd "$told/farm.csv"
for who in anna ben; do hornsweep correct "$visits/desk" --who $who <"$told/desk.$who.txt"; done
hornsweep import visit "$visits/herd_list" --out "$visits/imported" --herd "$told/farm.csv" \
  --farm "Hollow Ash" --date 2026-11-18
[ -e "$visits/demonstration" ] || hornsweep replay audio_fixtures/demo_visit.flac --herd audio_fixtures/demo_herd.csv \
  --out "$visits/demonstration" --date $day
if [ $# -gt 3 ]; then
  "$python" -c 'import soundfile, sys
sound, rate = soundfile.read(sys.argv[1], frames=110 * soundfile.info(sys.argv[1]).samplerate)
soundfile.write(sys.argv[2], sound, rate)' audio_fixtures/demo_visit.flac "$out/four_animals.flac"
  (
    cd "$4"
    hornsweep replay "$out/four_animals.flac" --herd audio_fixtures/demo_herd.csv \
      --out "$visits/heard_again" --date $day
    hornsweep replay "$told/bare_numbers.txt" --out "$visits/gone_on" --date $day
  )
  hornsweep replay "$visits/heard_again" --apply
  hornsweep replay "$told/gone_on.txt" --out "$visits/gone_on" --date 2026-11-18
fi

cat >"$out/heard.py" <<'PYTHON'
"""A visit heard by a recogniser that is told what to hear, through the classes of that version.

A line is an utterance. "... " before it: half a second after the one before, else four. " | "
stands between rival hearings, which make it doubtful; "| ?" makes it doubtful without a rival.
Behind " => " stands what is heard where it is joined to the line before. "talk: " is refused.
"spoke: " and "gap: " are what ``listen`` notes beside.
"""

import os
import sys
from datetime import date
from pathlib import Path

import numpy as np

from dictation.audio.endpoint import Utterance
from dictation.recognition.protocol import SAMPLE_RATE_HZ, Heard, Hypothesis, Outcome
from dictation.session.events import Captured, Gap
from dictation.session.joining import Joiner
from dictation.session.journal import Journal
from dictation.session.live_events import Listened, Spoke
from dictation.session.session import Session
from dictation.session.understanding import Understanding
from grammar.normalise import normalise
from grammar.parse import parse

DAY = date(2026, 11, 18)
PAUSED, TALK = "... ", "talk: "
folder, lines, power_lost = Path(sys.argv[1]), Path(sys.argv[2]), sys.argv[3] == "power lost"
phrases = lines.read_text(encoding="utf-8").splitlines()


class Script:
    """Hears line n in sound of loudness n; two together where their sound is joined."""

    name = "script"

    def recognise(self, samples):
        levels = sorted({round(float(x) * 200) for x in np.unique(samples) if x})
        lines = [phrases[level - 1].removeprefix(PAUSED).split(" => ") for level in levels]
        told = lines[-1][-1] if lines[1:] and lines[-1][1:] else " ".join(x[0] for x in lines)
        if told.startswith(TALK):
            return Heard(Outcome.NOT_OUR_LANGUAGE, free_text=told.removeprefix(TALK))
        texts = told.split(" | ")
        sure = len(texts) == 1
        rivals = [text for text in texts if text != "?"]
        found = tuple(
            Hypothesis(text, normalise(text), (), -float(place), 1)
            for place, text in enumerate(rivals)
        )
        reasons = () if sure else ("another hearing was near",)
        return Heard(
            Outcome.HEARD, found, texts[0], confidence=1.0 if sure else 0.5, reasons=reasons
        )


with Journal.write(folder) as journal:
    understanding = Understanding(parse, lambda: session.visit)
    session = Session(journal, understanding, Script())
    session.begin(DAY, DAY)
    joiner = Joiner(session, understanding)
    at_s = 1.0
    for number, phrase in enumerate(phrases, start=1):
        if phrase.startswith("spoke: "):
            session.take(Spoke(phrase.removeprefix("spoke: "), at_s, at_s + 1.5))
            at_s += 1.5
            continue
        if phrase.startswith("gap: "):
            session.take(Gap(at_s, at_s + 3.0, phrase.removeprefix("gap: ")))
            at_s += 3.0
            continue
        at_s += 0.5 if phrase.startswith(PAUSED) else 4.0
        samples = np.full(SAMPLE_RATE_HZ, number / 200, np.float32)
        sound = Utterance(samples, at_s, at_s + 1.0, number)
        session.hear(sound)
        joiner.heard(sound)
        at_s += 1.0
        if number % 10 == 0:
            session.take(Listened(at_s + 2.0))
    if power_lost:  # a phrase was cut out and not heard any more; no CSV file was written
        session.take(Captured(session.visit.last_utterance + 1, at_s + 4.0, at_s + 5.0))
        journal.close()
        os._exit(0)
    session.take(Listened(at_s + 5.0))
    session.close("listening was ended")
PYTHON
heard() { "$python" "$out/heard.py" "$visits/$1" "$told/$1.heard.txt" "$2"; }
for name in pauses doubtful; do
  heard $name ended
  hornsweep export "$visits/$name" --to csv --out "$visits/$name"
done
for name in never_written stopped_short; do heard $name "power lost"; done

cat >"$out/keep.py" <<'PYTHON'
"""What is kept of each visit: its journal as SQL that restores it whole, and its CSV files."""

import shutil
import sqlite3
import sys
from pathlib import Path

for visit in sorted(Path(sys.argv[1]).iterdir()):
    kept = Path(sys.argv[2]) / visit.name
    kept.mkdir(exist_ok=True)
    connection = sqlite3.connect(f"{(visit / 'visit.sqlite').as_uri()}?mode=ro", uri=True)
    pragmas = [
        f"PRAGMA {name} = {connection.execute(f'PRAGMA {name}').fetchone()[0]};"
        for name in ("application_id", "user_version")
    ]
    sql = "\n".join([*pragmas, *connection.iterdump()]) + "\n"
    (kept / "journal.sql").write_bytes(sql.encode())
    for path in visit.glob("*.csv"):
        shutil.copyfile(path, kept / path.name)
PYTHON
"$python" "$out/keep.py" "$visits" "$out/kept"
