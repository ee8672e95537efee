"""The matter that is looked at, as text for a width: what is asked first, then what was heard."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import Group, RenderableType
from rich.rule import Rule
from rich.text import Text

from dictation.console.desk import Desk
from dictation.console.safe import plain, safe
from dictation.console.screen import exam_head, flag_lines, render, two_ends
from dictation.decide.draft import standing_of
from dictation.decide.people.agenda import Matter
from dictation.decide.taking_back import touched_by
from dictation.visit.inputs import PEOPLES
from dictation.visit.parts import Fate, Phrase, Query
from dictation.visit.state import Visit
from grammar.exam import Exam, FindingState, RecordedFinding
from grammar.wording import differing, either, written

STATE_WORDS = {
    FindingState.ACCEPTED: "",
    FindingState.QUERIED: "ASKED",
    FindingState.CORRECTED: "CORRECTED",
}
"""How the state of a finding that stands is shown; an accepted one needs no word."""


def desk_view(desk: Desk, width: int, colour: bool = False) -> str:
    """What is looked at. Without ``colour`` there is no escape sequence in it."""
    matter = desk.matter
    parts: list[RenderableType] = [Rule(style="dim")]
    if matter is None:
        waiting = len(desk.waiting)
        left = f"{waiting} passed over: an empty line starts again." if waiting else ""
        parts.append(plain(f"Nothing is left to look at. {left}".strip(), "bold"))
        return render(Group(*parts), width, colour)
    exam, phrase = desk.visit.exam(matter.exam), desk.phrase
    parts.append(_head(desk, matter, exam))
    if matter.query is not None:
        parts += _asked(matter.query)
    if matter.flags:
        parts.append(flag_lines(matter.flags))
    if phrase is not None:
        parts += _heard(desk.visit, phrase)
    elif exam is not None:
        parts += _findings(desk.visit, exam.standing)
    return render(Group(*parts), width, colour)


def confidence_words(confidence: float) -> str:
    """How surely something was heard, in a word and a number."""
    word = "sure" if confidence >= 0.95 else "likely" if confidence >= 0.8 else "doubtful"
    return f"{word} {confidence:.2f}"


def _head(desk: Desk, matter: Matter, exam: Exam | None) -> RenderableType:
    tag = "before the first animal" if exam is None else exam_head(desk.visit, exam)
    kind = "ASKED" if matter.query else "FLAGGED" if matter.flags else "LOOK AT"
    left = len(desk.waiting)
    return two_ends(
        Text(f"{kind}  {safe(tag).rstrip()}", "bold reverse"), Text(f"{left} open", "dim")
    )


def _asked(query: Query) -> list[RenderableType]:
    answers = [each.words for each in query.alternatives]
    told = differing(answers)
    alike = len(answers) > 1 and query.question == either(answers)
    question = "Which was said?" if alike else query.question
    lines: list[RenderableType] = [plain(question, "bold yellow")]
    for number, pieces in enumerate(told, start=1):
        line = Text(f"  {number}  ")
        for words, differs in pieces:
            line.append(safe(words), "bold" if differs else "")
        lines.append(line)
    if query.alternatives:
        lines.append(Text("  0  none of them"))
    lines.append(plain(f"because {query.why}", "dim"))
    return lines


def _heard(visit: Visit, phrase: Phrase) -> list[RenderableType]:
    words = {Fate.REFUSED: "REFUSED", Fate.INSERTED: "PUT IN"}.get(phrase.fate, "HEARD")
    when = "typed"
    if phrase.at_s is not None:
        when = "at {}:{:02d}".format(*divmod(int(phrase.at_s), 60))
    sure = confidence_words(phrase.confidence)
    lines: list[RenderableType] = [plain(f"{words} {when}, {sure}: “{phrase.text}”")]
    lines += [plain(f"  taken: {why}") for why in phrase.by_context]
    return [*lines, *_findings(visit, standing_of(visit, phrase.number))]


def _findings(visit: Visit, standing: tuple[RecordedFinding, ...]) -> Iterator[RenderableType]:
    """Findings with the numbers by which they are put right."""
    for place, recorded in enumerate(standing, start=1):
        state = STATE_WORDS[recorded.state]
        if recorded.state is FindingState.CORRECTED:
            state += _by_whom(visit, recorded.number)
        yield plain(f"  finding {place}: {written(recorded.finding)}  {state}".rstrip())


def _by_whom(visit: Visit, finding: int) -> str:
    """Who put a finding right, and the entry that '/undo' takes."""
    acts = (visit.acts[seq] for seq in range(visit.last_seq, 0, -1))
    theirs = (act for act in acts if act.kind in PEOPLES and finding in touched_by(act))
    act = next(theirs, None)
    return "" if act is None else f" by {act.who}, entry {act.seq}"
