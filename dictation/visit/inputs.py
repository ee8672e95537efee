"""What comes into a visit, and is kept as evidence beside the facts it led to: one kind a class.

Sound as it was heard, typed words, and what people do by key, at the desk or on the page. What an
input means for the visit is decided once, in ``dictation.decide``; here is only what came in.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import ClassVar

from dictation.recognition.protocol import Hypothesis, Outcome
from dictation.visit.facts import Happened
from dictation.visit.parts import Alternative, Effect, worded
from grammar.exam import RecordedFinding
from grammar.findings import Finding, Said, Unread


class Input:
    """What comes into a visit."""

    __slots__ = ()


class Deed(Input):
    """What a person does."""

    __slots__ = ()


INPUTS: dict[type[Input], str] = {}
"""The word of each kind in the journal."""


@worded(INPUTS, "heard")
class PhraseHeard(Input):
    """One utterance, whatever became of it. ``audio``: its file's name in the ``audio`` folder;
    ``audio_digest``: SHA-256 of that file.

    ``said``: the best hypothesis as parsed then; ``alternatives``: readings with other values, most
    likely first; ``unread``: why the best hypothesis could not be read. ``doubts``: why it was not
    taken as sure when it was heard; empty means sure. ``by_context``: why what is known of
    the farm made it plain where the sound alone did not.
    """

    phrase: int
    audio: str | None
    at_s: float
    until_s: float
    outcome: Outcome
    engine: str = ""
    recording: str | None = None
    hypotheses: tuple[Hypothesis, ...] = ()
    free_text: str = ""
    free_log_score: float = 0.0
    confidence: float = 0.0
    reasons: tuple[str, ...] = ()
    said: tuple[Said, ...] = ()
    alternatives: tuple[tuple[Said, ...], ...] = ()
    unread: Unread | None = None
    doubts: tuple[str, ...] = ()
    by_context: tuple[str, ...] = ()
    audio_digest: str | None = None


@worded(INPUTS, "typed")
class PhraseTyped(Input):
    """A phrase that was typed instead of spoken; ``line``: where in a file of phrases, from 1.

    ``part``: of an unread phrase what could be read, and ``rest``: the words that could not.
    """

    phrase: int
    text: str
    said: tuple[Said, ...] = ()
    alternatives: tuple[tuple[Said, ...], ...] = ()
    unread: Unread | None = None
    doubts: tuple[str, ...] = ()
    recording: str | None = None
    line: int | None = None
    part: tuple[Said, ...] = ()
    rest: str | None = None
    # What is typed is as surely heard as can be.
    outcome: ClassVar = Outcome.HEARD
    free_text: ClassVar = ""
    reasons: ClassVar[tuple[str, ...]] = ()


@worded(INPUTS, "joined")
class PhrasesJoined(Input):
    """Two utterances were one phrase with a pause in it.

    What ``first`` and ``second`` did no longer counts: their sound is heard together as phrase
    ``into``, which follows. Its file is kept before this is written. ``recording``: of which they
    are parts, if any.
    """

    first: int
    second: int
    into: int
    at_s: float
    until_s: float
    recording: str | None = None


@worded(INPUTS, "noted")
class Noted(Input):
    """Something that simply happened, and needs no decision."""

    fact: Happened


@worded(INPUTS, "visit_closed")
class VisitClosed(Input):
    """The visit is over; the exam in hand is closed. It can be gone on with all the same."""


@worded(INPUTS, "finding_changed")
class FindingChanged(Deed):
    """A person gave a finding another value. ``was`` is what the person saw when doing so."""

    finding: int
    was: Finding
    now: Finding


@worded(INPUTS, "finding_withdrawn")
class FindingWithdrawn(Deed):
    """A person took a finding back."""

    finding: int


class Choice(StrEnum):
    """A person's answer to a query; ``TAKE`` goes with the number of the alternative.

    ``SETTLED`` closes a query that has no alternatives: it was looked at and needs no change.
    """

    TAKE = "take"
    NONE_OF_THEM = "none_of_them"
    SETTLED = "settled"


@worded(INPUTS, "answered")
class QueryAnswered(Deed):
    """A person answered a query by key or click. ``alternative`` counts from 1."""

    query: str
    choice: Choice
    alternative: int | None = None


@worded(INPUTS, "inserted")
class PhraseInserted(Deed):
    """A phrase that was missed, as typed by a person. ``of_phrase``: refused speech taken up."""

    exam: int
    text: str
    said: tuple[Said, ...]
    of_phrase: int | None = None


@worded(INPUTS, "moved")
class PhraseMoved(Deed):
    """All findings of a phrase belong to another exam."""

    phrase: int
    to_exam: int


@worded(INPUTS, "merged")
class ExamsMerged(Deed):
    """Two exams are one animal: the findings of ``exam`` go to ``into``."""

    exam: int
    into: int


@worded(INPUTS, "split")
class ExamSplit(Deed):
    """From ``from_phrase`` on, an exam is another animal's."""

    exam: int
    from_phrase: int


@worded(INPUTS, "tag_changed")
class TagChanged(Deed):
    """An exam carries another tag than was heard."""

    exam: int
    tag: str


@worded(INPUTS, "approved")
class ExamApproved(Deed):
    """A person stands for an exam as it is, or for the whole visit (``exam`` is None).

    ``exams``: for these alone, and not for the visit.
    """

    exam: int | None
    exams: tuple[int, ...] = ()


@worded(INPUTS, "put_right")
class PhrasePutRight(Deed):
    """What a phrase said was this. The sound and the first hearing stay as they are.

    ``said`` holds findings only.
    """

    phrase: int
    text: str
    said: tuple[Said, ...]


@worded(INPUTS, "heard_again")
class PhraseHeardAgain(Deed):
    """A stored phrase was heard again, with another engine or grammar, and this was taken over."""

    phrase: int
    text: str
    said: tuple[Said, ...]
    confidence: float
    engine: str
    grammar_version: str


@worded(INPUTS, "exam_added")
class ExamAdded(Deed):
    """An animal was missed: an exam of its own, behind ``after``, at the start where it is None."""

    after: int | None
    tag: str | None


@worded(INPUTS, "taken_back")
class EntryTakenBack(Deed):
    """Entry ``entry`` is taken back: what it changed is as it was. Of such an entry: redo."""

    entry: int


@dataclass(frozen=True, slots=True)
class Asked:
    """A question that was open in a file, with what each answer does to the exam's findings."""

    question: str
    why: str
    alternatives: tuple[Alternative, ...] = ()
    no: Effect | None = None


@worded(INPUTS, "exam_taken")
class ExamTaken(Input):
    """An exam was taken over as it stood in a file, behind the others, closed.

    ``recorded``: numbered from 1; so do the effects of
    ``asked`` name them. ``source``: the folder it came from.
    """

    exam: int
    tag: str | None
    started_at: str | None
    recorded: tuple[RecordedFinding, ...]
    questions: tuple[str, ...]
    source: str
    asked: tuple[Asked, ...] = ()


@worded(INPUTS, "read_anew")
class ReadAnew(Input):
    """A journal of an earlier version was decided by today's rules.

    ``exams``: those with which no file of its day could be compared: each is asked about, and
    ``why``. ``questions``: by id, the words in which a question stood in the files.
    """

    exams: tuple[int, ...]
    why: str
    questions: tuple[tuple[str, str], ...] = ()


PEOPLES = frozenset(word for kind, word in INPUTS.items() if issubclass(kind, Deed))
"""Words of what people do."""


@dataclass(frozen=True, slots=True)
class By:
    """Who gives an input, and why. ``based_on``: the last entry that they had seen."""

    who: str = ""
    why: str = ""
    based_on: int | None = None
