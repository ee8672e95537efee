"""The visits that ``write_facts`` writes, told by phrases and deeds in turn."""

from __future__ import annotations

from datetime import date

from dictation.decide.people.orders import findings_typed
from dictation.recognition.protocol import Outcome
from dictation.visit.facts import (
    Captured,
    Gap,
    Happened,
    HerdListed,
    Listened,
    RecordingFinished,
    RecordingOpened,
    Spoke,
    VisitOpened,
)
from dictation.visit.inputs import (
    Asked,
    By,
    Choice,
    Deed,
    EntryTakenBack,
    ExamAdded,
    ExamApproved,
    ExamsMerged,
    ExamSplit,
    ExamTaken,
    FindingChanged,
    FindingWithdrawn,
    Input,
    PhraseHeard,
    PhraseHeardAgain,
    PhraseInserted,
    PhraseMoved,
    PhrasePutRight,
    PhrasesJoined,
    PhraseTyped,
    QueryAnswered,
    ReadAnew,
    TagChanged,
    VisitClosed,
)
from dictation.visit.parts import Alternative, Keep, SetTo
from grammar.exam import FindingState, KnownAnimal, RecordedFinding, Service
from grammar.findings import Animal, Command, Finding, OvarianStructure, Ovary, Side
from tests.decide.spoken import ON, Chatter, Unsure

Told = str | Unsure | Chatter | Input | Happened | tuple[Deed, By]

HERD = HerdListed(
    "5" * 64,
    "farm.csv",
    (
        KnownAnimal(
            "837",
            "276000312312345",
            "Holstein",
            "cow",
            3,
            date(2026, 7, 12),
            (
                Service(date(2026, 9, 12), inseminator="own"),
                Service(date(2026, 10, 1), date(2026, 10, 20), sire="Rowan"),
            ),
            "open",
        ),
        KnownAnimal("412", None, "Jersey", "heifer", 0),
        KnownAnimal("2605", "276000312312346"),
    ),
)
LATER = HerdListed("6" * 64, "later.csv", (KnownAnimal("837", parity=4), KnownAnimal("900")))
MORNING = "7" * 64
ANNA, BEN = By("anna", "looked at the picture"), By("ben")


def right(phrase: int, text: str) -> PhrasePutRight:
    """What a phrase said was this."""
    return PhrasePutRight(phrase, text, findings_typed(text, ON) if text else ())


def typed_in(exam: int, text: str, of: int | None = None) -> PhraseInserted:
    """A phrase that was missed."""
    return PhraseInserted(exam, text, findings_typed(text, ON), of)


def seen(text: str) -> Finding:
    """The first finding of a phrase."""
    what = findings_typed(text, ON)[0].what
    assert not isinstance(what, Command)
    return what


OPENED = VisitOpened(ON, "Hollow Ash")
SPOKEN: tuple[Told, ...] = (
    "cow eight three seven",
    "left ovary CL twenty-two, follicle nine",
    Unsure("pregnant forty days", ("pregnant fourteen days",)),
    "next cow four one two",
    "open",
    Chatter("shut that gate"),
    "right ovary follicle sixteen",
)

VISITS: dict[str, tuple[Told, ...]] = {
    "plain": (
        VisitOpened(ON),
        "cow eight three seven",
        "left ovary CL twenty-two with a cavity six millimetres",
        "make that twenty-four",
        "right ovary small follicles",
        "pregnant forty-five days, right horn",
        "heartbeat seen, crown rump thirty millimetres",
        "next heifer two six oh five",
        "pregnant sixty-four days",
        "twins, one in each horn",
        "first fetus male",
        "scratch that",
        "score three point two five",
        "recheck in four weeks",
        "take a note",
        "the one with the torn ear",
        "next cow seven three",
        "endometritis",
        "open",
        "no, right",
        "pause",
        "left ovary CL twenty",
        "resume",
        "read back",
        "close visit",
    ),
    "doubtful": (
        OPENED,
        Captured(1, 10.0, 12.0),
        Unsure("cow four one two", ("cow four one seven",)),
        "choice two",
        Unsure("left ovary CL forty", ("left ovary CL fourteen",)),
        Spoke("Forty or fourteen?", 24.0, 25.5),
        "left ovary CL fourteen",
        Gap(30.0, 33.0, "the microphone was unplugged"),
        Listened(40.0),
        Unsure("next"),
        "no",
        Unsure("scratch that"),
        "yes",
        Chatter("did you see the match"),
        PhraseHeard(10, "0010.flac", 100.0, 109.0, Outcome.TOO_LONG, reasons=("too long",)),
        PhraseHeard(11, None, 110.0, 111.0, Outcome.FAILED, reasons=("its sound was lost",)),
        PhraseHeard(12, "0012.flac", 112.0, 113.0, Outcome.SILENCE),
        "next cow two six oh five",
        "left ovary",
        "CL twenty-two",
        PhrasesJoined(14, 15, 16, 140.0, 144.0),
        PhraseHeard(16, "0016.flac", 140.0, 144.0, Outcome.NOT_OUR_LANGUAGE, free_text="..."),
        "correction, left ovary CL eighteen",
        Unsure("open", ("pregnant",)),
        Captured(19, 190.0, 192.0),
    ),
    "paused": (
        OPENED,
        "cow eight three seven",
        "open",
        Unsure("next"),
        "four one two",
        PhrasesJoined(3, 4, 5, 30.0, 34.0),
        "next cow four one two",
        "left ovary CL twenty",
        "open",
        PhrasesJoined(6, 7, 8, 60.0, 64.0),
        PhrasesJoined(1, 2, 9, 60.0, 64.0),
    ),
    "recordings": (
        OPENED,
        HERD,
        RecordingOpened(MORNING, "morning.flac", 0.0, "2026-11-18T09:00:00"),
        Captured(1, 1.0, 2.0, MORNING),
        PhraseHeard(
            1,
            "0001.flac",
            1.0,
            2.0,
            Outcome.HEARD,
            "script",
            MORNING,
            confidence=0.97,
            said=findings_typed("cow 837", ON),
        ),
        PhraseHeard(
            2,
            "0002.flac",
            3.0,
            5.0,
            Outcome.HEARD,
            "script",
            MORNING,
            confidence=0.97,
            said=findings_typed("l ov cl 22, p 45 d", ON),
        ),
        RecordingFinished(MORNING, 60.0),
        RecordingOpened("8" * 64, "phrases.txt", 60.0),
        PhraseTyped(3, "cow 412", findings_typed("cow 412", ON), recording="8" * 64, line=1),
        PhraseTyped(4, "open", findings_typed("open", ON), recording="8" * 64, line=2),
        LATER,
        "next cow nine hundred",
        "uncertain",
        VisitClosed(),
    ),
    "desk": (
        OPENED,
        HERD,
        *SPOKEN,
        (FindingChanged(2, seen("l ov cl 22"), seen("l ov cl 24")), ANNA),
        (FindingWithdrawn(3), BEN),
        (QueryAnswered("u3", Choice.TAKE, 2), ANNA),
        (typed_in(1, "tw"), ANNA),
        (typed_in(2, "lov ns", 6), BEN),
        (PhraseMoved(7, 1), ANNA),
        (EntryTakenBack(15), BEN),
        (EntryTakenBack(16), BEN),
        (ExamAdded(1, "555"), ANNA),
        (ExamAdded(None, None), ANNA),
        (EntryTakenBack(19), ANNA),
        (TagChanged(2, "2605"), BEN),
        (ExamSplit(1, 3), ANNA),
        (ExamsMerged(5, 1), BEN),
        (right(5, "p 40 d, tw"), ANNA),
        (PhraseHeardAgain(7, "f 17", findings_typed("r ov f 17", ON), 0.9, "script", "g2"), BEN),
        Unsure("cow nine hundred", ("cow nine hundred one",)),
        (QueryAnswered("u8", Choice.NONE_OF_THEM), ANNA),
        "make that ninety",
        (QueryAnswered("u9", Choice.SETTLED), ANNA),
        (EntryTakenBack(12), By("anna", "it was right")),
        (EntryTakenBack(6), By("ben", "another animal")),
    ),
    "approved": (
        OPENED,
        HERD,
        "cow eight three seven",
        "pregnant forty-five days",
        "left ovary CL twenty-two",
        "next cow four one two",
        "pregnant forty days",
        "open",
        "next heifer two six oh five",
        "left ovary follicular cyst thirty-two, thin wall",
        "uterus involuted",
        (ExamApproved(1), ANNA),
        (ExamApproved(2), BEN),
        (FindingWithdrawn(6), ANNA),
        (ExamApproved(None), BEN),
        "close visit",
        (typed_in(3, "p 60 d"), ANNA),
        (ExamApproved(3), ANNA),
        (right(5, "p 42 d"), BEN),
    ),
    "imported": (
        OPENED,
        ExamTaken(
            1,
            "837",
            "2026-11-18T09:00:00",
            (
                RecordedFinding(1, Animal("837"), FindingState.ACCEPTED, "cow 837", phrase=1),
                RecordedFinding(
                    2,
                    Ovary(Side.LEFT, OvarianStructure.CORPUS_LUTEUM, 40.0),
                    FindingState.QUERIED,
                    "left ovary CL forty",
                    12.5,
                    14.0,
                    0.5,
                ),
            ),
            (),
            "earlier",
            (
                Asked(
                    "Forty or fourteen?",
                    "it was not sure",
                    (
                        Alternative("forty", Keep()),
                        Alternative(
                            "fourteen",
                            SetTo(((2, Ovary(Side.LEFT, OvarianStructure.CORPUS_LUTEUM, 14.0)),)),
                        ),
                    ),
                ),
            ),
        ),
        ExamTaken(
            2,
            "412",
            None,
            (RecordedFinding(1, Animal("412"), FindingState.ACCEPTED, "cow 412"),),
            ("Is she pregnant?",),
            "earlier",
        ),
        ReadAnew((2,), "no CSV files lay beside it", (("t1.1", "Fourteen or forty?"),)),
        (QueryAnswered("t1.1", Choice.TAKE, 2), ANNA),
        "cow nine hundred",
        "open",
        VisitClosed(),
    ),
}
