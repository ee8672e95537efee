"""``hornsweep import visit``: exams.csv and findings.csv become a visit again."""

from __future__ import annotations

from pathlib import Path

import click

from dictation.cli.dates import VisitDate, When
from dictation.console.terminal import sentence
from dictation.errors import WrongUseError
from dictation.intake.csv_visit import take_in
from dictation.intake.reading import herd_fact, read_visit
from dictation.records.csv_reading import read_csv_visit
from dictation.records.questions_file import questions_of_no_exam
from dictation.records.visit_files import write_visit_files
from dictation.visit.facts import VisitOpened


@click.command(
    epilog="Example: hornsweep import visit from-the-vet --date 2026-11-18 --herd farm/herd.csv"
    " --out visit-2026-11-18"
)
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option("--date", "when", type=VisitDate(), help="Day of the visit.")
@click.option("--herd", type=click.Path(path_type=Path), help="Herd list of the visit.")
@click.option("--farm", help="Name of the farm.")
@click.option("--out", required=True, type=click.Path(path_type=Path), help="New folder.")
def command(
    folder: Path, when: When | None, herd: Path | None, farm: str | None, out: Path
) -> None:
    """Take a visit in that was exported as CSV, whole or not at all.

    CSV does not carry the herd list, the sound or who approved what: give the list again with
    --herd, and approve again what you stand for. Ages and dates are reckoned anew.
    """
    listed = None if herd is None else herd_fact(herd)
    animals = () if listed is None else listed.animals
    read = read_csv_visit(folder, None if when is None else when.on, animals)
    if read.on_date is None:
        raise WrongUseError("The files do not say which day it was: give it with --date.")
    take_in(out, read.exams, VisitOpened(read.on_date, farm), listed, folder.name, read.asked)
    visit, flags = read_visit(out)
    write_visit_files(out, visit, flags)
    for question in questions_of_no_exam(folder):
        sentence(f"Left out, asked between two animals: {question} Settle it in the visit itself.")
    findings = sum(len(exam.recorded) for exam in visit.exams)
    sentence(f"{out}: {len(visit.exams)} exams and {findings} findings of {read.on_date}.")
