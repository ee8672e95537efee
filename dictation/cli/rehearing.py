"""``hornsweep replay DIR``: hear a stored visit again, and show what would change."""

from __future__ import annotations

import getpass
import json
from functools import partial
from itertools import zip_longest
from pathlib import Path

import click

from dictation.archive.differences import Difference, Kept, rehear, take_over
from dictation.console.safe import safe
from dictation.console.terminal import bar, sentence
from dictation.decide.record import Record
from dictation.intake.upgrade import brought_up
from dictation.recognition.engines import load_engine
from dictation.recognition.protocol import Recogniser
from dictation.records.visit_files import write_visit_files
from dictation.visit.journal import AUDIO_FOLDER
from grammar.findings import finding_record
from grammar.language import grammar_version
from grammar.parse import parse
from grammar.wording import written


def rehear_visit(folder: Path, engine: str, apply: bool, as_json: bool) -> int:
    """Hear the visit of a folder again; with ``apply``, take over what is sure now. Exit code."""
    brought_up(folder, sentence)
    with Record.amend(folder, partial(write_visit_files, folder)) as visit:
        recogniser = load_engine(engine)
        outcomes = _hear(visit, recogniser, folder / AUDIO_FOLDER)
        kept = [each for each in outcomes if isinstance(each, Kept)]
        differences = [each for each in outcomes if isinstance(each, Difference)]
        for difference in differences:
            click.echo(json.dumps(record(difference)) if as_json else "\n".join(lines(difference)))
        wanted = [each for each in differences if not each.left]
        if apply:
            version, who = grammar_version(), getpass.getuser()
            for difference in wanted:
                take_over(visit, difference, recogniser.name, version, who)
    done = "were taken over" if apply else "would change; --apply takes them over"
    heard = len(outcomes) - len(kept)
    sentence(
        f"Of {heard} utterances heard again {len(differences)} are heard otherwise;"
        f" {len(wanted)} {done}. {len(kept)} were left as people or the speaker made them."
    )
    return 0


def _hear(visit: Record, recogniser: Recogniser, audio: Path) -> list[Difference | Kept | None]:
    outcomes: list[Difference | Kept | None] = []
    with bar("hearing again") as progress:
        for each in rehear(visit, recogniser, parse, audio):
            outcomes.append(each)
            progress.show(len(outcomes), len(visit.visit.phrases))
    return outcomes


def lines(difference: Difference) -> list[str]:
    """A difference for a person: where, what was heard and what is, finding by finding."""
    whose = f"tag {difference.tag}" if difference.tag else f"exam {difference.phrase.exam}"
    head = (
        f"{difference.phrase.at_s or 0.0:8.1f} s  {whose}"
        f"  “{difference.phrase.text}” is now “{difference.text}”"
    )
    found = [head]
    gone = [written(f) for f in difference.before if f not in difference.now]
    new = [written(f) for f in difference.now if f not in difference.before]
    for was, now in zip_longest(gone, new, fillvalue="nothing"):
        found.append(f"            {was} -> {now}")
    if not gone and not new:
        found.append("            the same, and sure now")
    if difference.left:
        found.append(f"            left as it is: {difference.left}")
    return [safe(line) for line in found]


def record(difference: Difference) -> dict[str, object]:
    """A difference as one line of JSON."""
    return {
        "event": "reheard",
        "utterance": difference.phrase.number,
        "exam": difference.phrase.exam,
        "tag": difference.tag,
        "at_s": difference.phrase.at_s or 0.0,
        "text_before": difference.phrase.text,
        "text": difference.text,
        "before": [finding_record(finding) for finding in difference.before],
        "now": [finding_record(finding) for finding in difference.now],
        "confidence": difference.confidence,
        "was_asked": difference.was_asked,
        "left": difference.left or None,
    }
