"""How long a silence ends what is being said: that depends on what it says so far."""

from __future__ import annotations

from datetime import date

from dictation.audio.endpoint import BEGUN_HANG_OVER_S, LIVE_HANG_OVER_S, SENTENCE_HANG_OVER_S
from dictation.decide.doubt import ASK_BELOW
from dictation.decide.rivals import Parse
from dictation.recognition.protocol import Heard, Outcome
from grammar.findings import Seen


def pause_after(heard: Heard, parse: Parse, on: date | None) -> float:
    """Seconds of silence that end an utterance of which this was heard so far.

    What is surely a sentence has ended, whatever could follow: what does is joined to it. What is
    surely the beginning of one waits longest. What is not sure, or was not meant for us, waits as
    long as ever: it may become clear, and cut in pieces it would be asked about in pieces.
    """
    if heard.outcome is not Outcome.HEARD or heard.confidence < ASK_BELOW:
        return LIVE_HANG_OVER_S
    reading = parse(heard.hypotheses[0].normal, on)
    last = reading.said[-1].what if reading.said else None
    if reading.unread is not None or (isinstance(last, Seen) and last.remark is None):
        return BEGUN_HANG_OVER_S
    return SENTENCE_HANG_OVER_S
