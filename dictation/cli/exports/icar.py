"""``export --to icar``: events of the open standard, and a report of what is in none."""

from __future__ import annotations

from pathlib import Path

from dictation.cli.exports.wanted import Wanted
from dictation.console.terminal import sentence
from dictation.records.icar.export import icar_export, write_icar
from dictation.records.icar.findings import sentences
from dictation.records.icar.sender import SOURCE, Sender
from dictation.visit.origin import origin_of


def write(wanted: Wanted) -> tuple[Path, ...]:
    """Three collections."""
    sender = Sender(
        origin_of(wanted.folder),
        wanted.source or SOURCE,
        wanted.herd_id,
        wanted.vet,
        wanted.zone,
        wanted.location,
    )
    export = icar_export(wanted.visit.exams, sender)
    for line in sentences(export.left_out, export.only_in_words):
        sentence(line)
    return write_icar(wanted.out, export)
