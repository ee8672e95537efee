"""A visit as sheets for the page: one an animal, each with its phrases in the order of speech."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass, field

from dictation.decide.people.agenda import Matter, agenda, refused_speech, sounds_like_ours
from dictation.decide.people.history import History, act_line, history
from dictation.decide.people.signing import covers, cow, signed, sure_exams
from dictation.decide.record import Flags
from dictation.decide.taking_back import last_to_redo, last_to_undo
from dictation.review.drawing import strip
from dictation.review.lines import ExamSheet, FindingLine, Heading, OpenLine, PhraseLine
from dictation.visit.inputs import INPUTS, ExamTaken
from dictation.visit.parts import Fate, Phrase, Placed, Query
from dictation.visit.state import Visit
from grammar.exam import Exam, FindingState, KnownAnimal
from grammar.findings import FINDING_NAMES, Pregnancy
from grammar.wording import spaced, written

SURE_FROM, LIKELY_FROM = 0.95, 0.8
"""Confidence from which hearing is called sure, and likely; below it is doubtful and was asked."""

BECAME = {
    Fate.RECORDED: "",
    Fate.COMMAND: "command",
    Fate.ASKED: "asked",
    Fate.NOTED: "kept as a note",
    Fate.REFUSED: "not for us",
    Fate.PAUSED: "while paused",
    Fate.SILENT: "no words",
    Fate.JOINED: "heard again as one phrase with its neighbour",
    Fate.INSERTED: "typed in",
}
"""What became of a phrase, as a word on the page; nothing where it was simply recorded."""

STATES = {
    FindingState.ACCEPTED: "",
    FindingState.QUERIED: "asked",
    FindingState.CORRECTED: "corrected",
    FindingState.WITHDRAWN: "withdrawn",
}


@dataclass(slots=True)
class _Gathered:
    """What belongs to each phrase and exam. ``findings``, ``questions``: by the id of their line.

    ``unsaid``: by exam, the entries that put something there that nobody said.
    """

    past: History
    spoken: dict[int, list[Phrase]] = field(default_factory=lambda: defaultdict(list))
    findings: dict[str, list[Placed]] = field(default_factory=lambda: defaultdict(list))
    questions: dict[str, list[Query]] = field(default_factory=lambda: defaultdict(list))
    unsaid: dict[int, dict[int, None]] = field(default_factory=lambda: defaultdict(dict))
    left: Counter[int] = field(default_factory=Counter)
    places: dict[int, int] = field(default_factory=dict)


def sheets(visit: Visit, flags: Flags) -> tuple[ExamSheet, ...]:
    """A sheet an animal, in order; before them one of what was said before the first, if any."""
    gathered = _gather(visit, flags)
    first = tuple(_phrase(each, 0, gathered) for each in gathered.spoken[0])
    before = (ExamSheet(0, first, gathered.left[0]),) if first else ()
    return (*before, *(_sheet(visit, exam, flags, gathered) for exam in visit.exams))


def heading(visit: Visit, flags: Flags) -> Heading:
    """The head of the page."""
    matters, past = agenda(visit, flags), _past(visit)
    refused = {p.number for p in refused_speech(visit)}
    asked = {matter.phrase for matter in matters if matter.query is not None}
    undo, redo = last_to_undo(visit), last_to_redo(visit)
    return Heading(
        date="" if visit.on_date is None else visit.on_date.isoformat(),
        farm=visit.farm or "",
        animals=len(visit.exams),
        open=tuple(_open(visit, matter) for matter in matters),
        refused=sum(not sounds_like_ours(visit.spoken[number].text) for number in refused),
        sure=len(sure_exams(visit, flags)),
        done=tuple(past.lines[seq] for seq in sorted(past.lines, reverse=True)),
        approved=signed(visit, when=True),
        approval_holds=visit.visit_approved,
        closed=visit.closed,
        paused=visit.paused,
        undo=None if undo is None else act_line(visit, undo),
        redo=None if redo is None else act_line(visit, redo),
        until=clock(visit.audio_until_s),
        strip=strip(visit, asked, refused),
    )


def _open(visit: Visit, matter: Matter) -> OpenLine:
    exam, phrase = visit.exam(matter.exam), visit.phrase(matter.phrase)
    named = "no animal" if exam is None else cow(exam)
    if matter.flags:
        return OpenLine(f"flags-{matter.exam}", named, matter.flags[0].severity, _why(matter))
    at = f"exam-{matter.exam or 0}" if phrase is None else f"phrase-{phrase.number}"
    if matter.query is not None:
        return OpenLine(at, named, "asked", matter.query.question)
    kind = "not for us?" if phrase is not None and phrase.fate is Fate.REFUSED else "doubtful"
    return OpenLine(at, named, kind, "" if phrase is None else phrase.text)


def _why(matter: Matter) -> str:
    return " ".join(flag.why for flag in matter.flags)


_KEPT: list[tuple[Visit, History]] = []


def _past(visit: Visit) -> History:
    """The history of the visit that was last asked for; sheets and heading need the same."""
    if not _KEPT or _KEPT[-1][0] is not visit:
        _KEPT[:] = [(visit, history(visit))]
    return _KEPT[-1][1]


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
    out = _Gathered(_past(visit))
    numbers = {exam.number for exam in visit.exams}
    before = 0
    for phrase in visit.phrases:
        # What was said between animals, and at the end, stands where it was said.
        before = phrase.exam if phrase.exam in numbers and phrase.exam else before
        out.spoken[before].append(phrase)
    for exam in visit.exams:
        out.places.update({r.number: n for n, r in enumerate(exam.standing, start=1)})
        for recorded in exam.recorded:
            line = _line(visit, out, recorded.phrase, recorded.number, exam.number)
            out.findings[line].append(Placed(exam.number, recorded))
    for query in visit.open_queries:
        out.questions[_line(visit, out, query.phrase, query.id, query.exam)].append(query)
    out.left.update(matter.exam or 0 for matter in agenda(visit, flags))
    return out


def _line(
    visit: Visit, out: _Gathered, phrase: int | None, made: int | str, exam: int | None
) -> str:
    """Id of the line of a finding or question: its phrase, or else the entry that put it there."""
    if visit.phrase(phrase) is not None:
        return f"phrase-{phrase}"
    entry = out.past.made_by[made].seq
    out.unsaid[exam or 0][entry] = None
    return f"typed-{exam or 0}-{entry}"


def _sheet(visit: Visit, exam: Exam, flags: Flags, gathered: _Gathered) -> ExamSheet:
    past = gathered.past
    acts = past.of_exam[exam.number]
    phrases = [_phrase(each, exam.number, gathered) for each in gathered.spoken[exam.number]]
    phrases += [_unsaid(visit, e, exam.number, gathered) for e in gathered.unsaid[exam.number]]
    return ExamSheet(
        number=exam.number,
        phrases=tuple(phrases),
        left=gathered.left[exam.number],
        tag=exam.tag or "",
        known=_known(exam.known),
        status="; ".join(written(f) for f in exam.findings if isinstance(f, Pregnancy)),
        in_hand=visit.in_hand == exam.number,
        approved=signed(visit, exam.number, when=True),
        approval_holds=exam.approved is not None,
        covers=covers(exam),
        flags=flags.get(exam.number, ()),
        acts=tuple(past.lines[act.seq] for act in acts if act.seq in past.lines),
    )


def _phrase(phrase: Phrase, exam: int, gathered: _Gathered) -> PhraseLine:
    line = f"phrase-{phrase.number}"
    findings = tuple(_finding(each, exam, gathered) for each in gathered.findings[line])
    questions = tuple(gathered.questions[line])
    refused = phrase.fate is Fate.REFUSED and not findings
    became = "taken back" if phrase.taken_back else BECAME[phrase.fate]
    if phrase.fate is Fate.ASKED and not questions:
        became = "asked, and settled"
    if phrase.fate is Fate.REFUSED and findings:
        became = "not for us, then used"
    became = "; ".join((became, *phrase.by_context))
    at_s, until_s = phrase.at_s, phrase.until_s
    return PhraseLine(
        id=line,
        phrase=phrase.number,
        text=phrase.text,
        became=became,
        findings=findings,
        questions=questions,
        at_s=None if at_s is None else round(at_s, 2),
        clock=clock(at_s),
        seconds="" if at_s is None or until_s is None else f"{until_s - at_s:.1f} s",
        sound=phrase.audio is not None,
        confidence="" if at_s is None or refused else confidence_words(phrase.confidence),
        refused=refused,
    )


def _unsaid(visit: Visit, entry: int, exam: int, gathered: _Gathered) -> PhraseLine:
    """What one entry put into this exam without its being said, behind what was spoken."""
    line = f"typed-{exam}-{entry}"
    placed = gathered.findings[line]
    findings = tuple(_finding(each, exam, gathered) for each in placed)
    heard = dict.fromkeys(each.recorded.heard for each in placed if each.recorded.heard)
    from_file = visit.acts[entry].kind == INPUTS[ExamTaken]
    return PhraseLine(
        id=line,
        phrase=None,
        text="; ".join(heard) or "; ".join(each.words for each in findings),
        became="from a file" if from_file else "typed in",
        findings=findings,
        questions=tuple(gathered.questions[line]),
    )


def _finding(placed: Placed, exam: int, gathered: _Gathered) -> FindingLine:
    recorded = placed.recorded
    words = written(recorded.finding)
    earlier = [was for was in gathered.past.earlier[recorded.number] if was != words]
    return FindingLine(
        number=recorded.number,
        place=gathered.places.get(recorded.number, 0) if placed.exam == exam else 0,
        kind=FINDING_NAMES[type(recorded.finding)],
        words=words,
        state=STATES[recorded.state],
        was=earlier[0] if earlier and recorded.state is FindingState.CORRECTED else "",
        elsewhere="" if placed.exam == exam else f"in exam {placed.exam}",
    )


def _known(known: KnownAnimal | None) -> str:
    if known is None:
        return ""
    parts = [known.breed, known.animal_class and spaced(known.animal_class)]
    if known.calved_on is not None:
        parts.append(f"calved {known.calved_on.isoformat()}")
    if known.services:
        parts.append(f"served {known.services[-1].first_day.isoformat()}")
    return ", ".join(part for part in parts if part)
