"""The screen of a visit as text, for tests."""

from __future__ import annotations

from dictation.console.live import Live, Microphone, live_screen
from dictation.console.screen import render
from dictation.decide.record import Flags
from dictation.live.guide import LEFT_FIRST
from dictation.visit.state import Visit
from grammar.checks import check_exam

GOOD = Microphone("Headset", -23.0, "good")
LIVE = Live(GOOD, "10:41:07", LEFT_FIRST)


def flags_of(visit: Visit) -> Flags:
    """The flags of each exam."""
    return {exam.number: check_exam(exam) for exam in visit.exams}


def drawn(
    visit: Visit, width: int = 80, height: int = 24, colour: bool = False, live: Live = LIVE
) -> str:
    """What a person sees while listening, at the end of what was said."""
    return render(live_screen(visit, flags_of(visit), live, width, height), width, colour)
