"""A visit as sheets for the page: one an animal, each with its phrases in the order of speech."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

from dictation.review.deed_words import deed_words, undo_words
from dictation.review.lines import (
    DeedLine,
    ExamSheet,
    FindingLine,
    FlagLine,
    Heading,
    PhraseLine,
    QuestionBox,
)
from dictation.review.strip import strip
from dictation.session.agenda import agenda, refused_speech
from dictation.session.events import FINDINGS_AN_UTTERANCE, INSERTED_FROM, Approved, Inserted
from dictation.session.happenings import Flags
from dictation.session.visit import Deed, Fate, Query, Utterance, Visit
from grammar.exam import Exam, FindingState, KnownAnimal, RecordedFinding
from grammar.findings import FINDING_NAMES, Pregnancy
from grammar.wording import spaced, written

SURE_FROM, LIKELY_FROM = 0.95, 0.8
"""Confidence from which hearing is called sure, and likely; below it is doubtful and was asked."""

BECAME = {
    Fate.RECORDED: "",
    Fate.COMMAND: "command",
    Fate.ASKED: "asked",
    Fate.NOTED: "kept as a note",
    Fate.REFUSED: "refused: not for us",
    Fate.PAUSED: "while paused",
    Fate.SILENT: "no words",
    Fate.JOINED: "heard again as one phrase with its neighbour",
}
"""What became of an utterance, as a word on the page; nothing where it was simply recorded."""

STATES = {
    FindingState.ACCEPTED: "",
    FindingState.QUERIED: "asked",
    FindingState.CORRECTED: "put right",
    FindingState.WITHDRAWN: "withdrawn",
}


@dataclass(slots=True)
class _Gathered:
    """What belongs to each utterance and exam, gathered in one pass over the visit."""

    findings: dict[int, list[tuple[int, RecordedFinding]]] = field(
        default_factory=lambda: defaultdict(list)
    )
    questions: dict[int, list[Query]] = field(default_factory=lambda: defaultdict(list))
    spoken: dict[int, list[Utterance]] = field(default_factory=lambda: defaultdict(list))
    deeds: dict[int, list[Deed]] = field(default_factory=lambda: defaultdict(list))
    was: dict[int, list[str]] = field(default_factory=lambda: defaultdict(list))
    taken_up: dict[int, int] = field(default_factory=dict)
    left: dict[int, int] = field(default_factory=lambda: defaultdict(int))
    approved_by: dict[int, str] = field(default_factory=dict)


def sheets(visit: Visit, flags: Flags) -> tuple[ExamSheet, ...]:
    """A sheet an animal, in order; before them one of what was said before the first, if any."""
    gathered = _gather(visit, flags)
    first = _before_the_first(visit, gathered)
    return (*first, *(_sheet(visit, exam, flags, gathered) for exam in visit.exams))


def heading(visit: Visit, flags: Flags) -> Heading:
    """The head of the page."""
    refused = len(refused_speech(visit))
    approvals = [d.who for d in visit.deeds if _approves(d, None)]
    return Heading(
        date="" if visit.on_date is None else visit.on_date.isoformat(),
        farm=visit.farm or "",
        animals=len(visit.exams),
        left=len(agenda(visit, flags)) - refused,
        refused=refused,
        approved=approvals[-1] if visit.visit_approved and approvals else "",
        closed=visit.closed,
        paused=visit.paused,
        undo=undo_words(visit),
        until=clock(visit.audio_until_s),
        strip=strip(visit, flags),
    )


def confidence_words(confidence: float) -> str:
    """A word and a number, so that no colour is needed to tell them apart."""
    word = "sure" if confidence >= SURE_FROM else "likely"
    word = word if confidence >= LIKELY_FROM else "doubtful"
    return f"{word} {confidence:.2f}"


def clock(seconds: float | None) -> str:
    """Minutes and seconds of the visit's audio; hours where there are any."""
    if seconds is None:
        return "typed"
    minutes, rest = divmod(int(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02d}:{rest:02d}" if hours else f"{minutes}:{rest:02d}"


def _gather(visit: Visit, flags: Flags) -> _Gathered:
    out = _Gathered()
    for exam in visit.exams:
        for recorded in exam.recorded:
            utterance = recorded.number // FINDINGS_AN_UTTERANCE
            out.findings[utterance].append((exam.number, recorded))
    for query in visit.open_queries:
        out.questions[query.utterance].append(query)
    numbers = {exam.number for exam in visit.exams}
    for spoken in visit.utterances:
        out.spoken[spoken.exam if spoken.exam in numbers else 0].append(spoken)
    for change in visit.changes:
        if change.was is not None:
            out.was[change.finding].append(written(change.was))
    for matter in agenda(visit, flags):
        if matter.query is not None or matter.flags:
            out.left[matter.exam or 0] += 1
    _gather_deeds(visit, out)
    return out


def _gather_deeds(visit: Visit, out: _Gathered) -> None:
    for deed in visit.deeds:
        for number in _exams_of(deed):
            out.deeds[number].append(deed)
        event = deed.event
        if isinstance(event, Inserted) and event.of_utterance is not None and not deed.undone:
            out.taken_up[INSERTED_FROM + deed.seq] = event.of_utterance
        if isinstance(event, Approved) and event.exam is not None:
            out.approved_by[event.exam] = deed.who


def _exams_of(deed: Deed) -> tuple[int, ...]:
    places = [place for _, *both in deed.findings for place in both if place is not None]
    numbers = [number for number, _ in places]
    numbers += [q.exam for _, *both in deed.queries for q in both if q is not None and q.exam]
    if isinstance(deed.event, Approved) and deed.event.exam is not None:
        numbers.append(deed.event.exam)
    return tuple(dict.fromkeys(numbers))


def _approves(deed: Deed, exam: int | None) -> bool:
    return isinstance(deed.event, Approved) and deed.event.exam == exam and not deed.undone


def _before_the_first(visit: Visit, gathered: _Gathered) -> tuple[ExamSheet, ...]:
    phrases = tuple(_phrase(u, 0, gathered) for u in gathered.spoken[0])
    if not phrases:
        return ()
    return (ExamSheet(0, "", "", "", False, "", gathered.left[0], (), phrases, ()),)


def _sheet(visit: Visit, exam: Exam, flags: Flags, gathered: _Gathered) -> ExamSheet:
    phrases = [_phrase(u, exam.number, gathered) for u in gathered.spoken[exam.number]]
    phrases += _typed_in(exam, gathered)
    approved = exam.number in visit.approved
    return ExamSheet(
        number=exam.number,
        tag=exam.tag or "",
        known=_known(exam.known),
        status="; ".join(written(f) for f in exam.findings if isinstance(f, Pregnancy)),
        in_hand=visit.in_hand == exam.number,
        approved=gathered.approved_by.get(exam.number, "") if approved else "",
        left=gathered.left[exam.number],
        flags=tuple(
            FlagLine(str(f.severity), f.why, spaced(f.rule), f.source)
            for f in flags.get(exam.number, ())
        ),
        phrases=tuple(phrases),
        deeds=tuple(_deed(deed) for deed in gathered.deeds[exam.number]),
    )


def _phrase(u: Utterance, exam: int, gathered: _Gathered) -> PhraseLine:
    findings = list(gathered.findings[u.number])
    for inserted, of in gathered.taken_up.items():
        if of == u.number:
            findings += gathered.findings[inserted]
    questions = gathered.questions[u.number]
    lines = tuple(_finding(number, recorded, exam, gathered) for number, recorded in findings)
    refused = u.fate is Fate.REFUSED and not lines
    became = "taken back" if u.taken_back else BECAME.get(u.fate, spaced(u.fate))
    if u.fate is Fate.ASKED and not questions:
        became = "asked, and settled"
    if u.fate is Fate.REFUSED and lines:
        became = "refused, then taken up"
    length = "" if u.at_s is None or u.until_s is None else f"{u.until_s - u.at_s:.1f} s"
    return PhraseLine(
        utterance=u.number,
        at_s=None if u.at_s is None else round(u.at_s, 2),
        clock=clock(u.at_s),
        seconds=length,
        text=u.text,
        became=became,
        sound=u.audio is not None,
        confidence="" if u.at_s is None or refused else confidence_words(u.confidence),
        doubts="; ".join(u.doubts),
        findings=lines,
        questions=tuple(
            QuestionBox(q.id, q.question, q.why, tuple(a.words for a in q.alternatives))
            for q in questions
        ),
        doubtful=bool(questions) or any(line.state == "asked" for line in lines),
        refused=refused,
        changed=any(line.state in ("put right", "withdrawn") for line in lines),
        typed_in=False,
    )


def _typed_in(exam: Exam, gathered: _Gathered) -> list[PhraseLine]:
    """Phrases that a person typed into this exam, behind what was spoken."""
    numbers = [r.number // FINDINGS_AN_UTTERANCE for r in exam.recorded]
    own = [n for n in dict.fromkeys(numbers) if n >= INSERTED_FROM and n not in gathered.taken_up]
    phrases = []
    for number in own:
        here = [(e, r) for e, r in gathered.findings[number] if e == exam.number]
        lines = tuple(_finding(e, r, exam.number, gathered) for e, r in here)
        text = here[0][1].heard or lines[0].words
        phrases.append(
            PhraseLine(
                utterance=number,
                at_s=None,
                clock="typed",
                seconds="",
                text=text,
                became="typed in",
                sound=False,
                confidence="",
                doubts="",
                findings=lines,
                questions=(),
                doubtful=False,
                refused=False,
                changed=True,
                typed_in=True,
            )
        )
    return phrases


def _finding(number: int, recorded: RecordedFinding, exam: int, gathered: _Gathered) -> FindingLine:
    words = written(recorded.finding)
    earlier = [was for was in gathered.was[recorded.number] if was != words]
    return FindingLine(
        number=recorded.number,
        kind=FINDING_NAMES[type(recorded.finding)],
        words=words,
        state=STATES[recorded.state],
        was=earlier[-1] if earlier and recorded.state is FindingState.CORRECTED else "",
        elsewhere="" if number == exam else f"in exam {number}",
    )


def _deed(deed: Deed) -> DeedLine:
    at = deed.at[:16].replace("T", " ")
    return DeedLine(deed.seq, at, deed.who, deed_words(deed), deed.why, deed.undone)


def _known(known: KnownAnimal | None) -> str:
    if known is None:
        return ""
    parts = [known.breed, known.animal_class and spaced(known.animal_class)]
    if known.calved_on is not None:
        parts.append(f"calved {known.calved_on.isoformat()}")
    if known.services:
        parts.append(f"served {known.services[-1].first_day.isoformat()}")
    return ", ".join(part for part in parts if part)
