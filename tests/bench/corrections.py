"""``python -m tests.bench corrections``: which words and numbers people had to put right."""

from __future__ import annotations

import json
from collections import Counter, defaultdict
from pathlib import Path

import click

from dictation.console.safe import safe
from dictation.visit.apply import fold
from dictation.visit.inputs import PhraseInserted, PhrasePutRight
from dictation.visit.journal import Journal
from tests.bench.figures import show, table
from tests.bench.learned import Misheard, MissingForm, misheard, missing_forms


@click.command(
    epilog="Example: python -m tests.bench corrections visit-2026-11-18 visit-2026-11-25"
)
@click.argument(
    "folders", metavar="DIR...", nargs=-1, required=True, type=click.Path(path_type=Path)
)
def command(folders: tuple[Path, ...]) -> None:
    """Sum up people's corrections of visits: what was heard, what was right, how often, where.

    Below, spoken forms that a practice's word list may lack, as lines for it. Nothing is changed.
    """
    counts: Counter[Misheard] = Counter()
    where: dict[Misheard, set[str]] = defaultdict(set)
    forms: Counter[MissingForm] = Counter()
    phrases = 0
    for folder in folders:
        with Journal.read(folder) as journal:
            visit = fold(journal.acts())
            came_in = [*journal.evidence(PhrasePutRight), *journal.evidence(PhraseInserted)]
        phrases += len(visit.phrases)
        for each in misheard(visit):
            counts[each] += 1
            where[each].add(folder.name)
        typed = ((n, put) for n, put in came_in if isinstance(put, PhrasePutRight | PhraseInserted))
        forms.update(missing_forms(visit, typed))
    title = f"Put right in {len(folders)} visits of {phrases} utterances: {counts.total()} values"
    shown = table(title, ("what", "heard", "right", "times", "visits"))
    for each, times in counts.most_common():
        names = ", ".join(sorted(where[each]))
        cells = (each.what, each.heard, each.right, str(times), names)
        shown.add_row(*(safe(cell) for cell in cells))
    show(shown)
    if forms:
        click.echo("Spoken forms that the word list lacks; add those that are meant:")
        click.echo("[terms]")
        by_term: dict[str, list[str]] = defaultdict(list)
        for form in forms:
            by_term[form.term].append(form.form)
        for term, said in sorted(by_term.items()):
            click.echo(safe(f"{term} = {json.dumps(said)}"))
