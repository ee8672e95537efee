"""How long a silence ends what is being said: that depends on what it says so far."""

from __future__ import annotations

from dictation.audio.endpoint import BEGUN_HANG_OVER_S, LIVE_HANG_OVER_S, SENTENCE_HANG_OVER_S
from dictation.decide.doubt import ASK_BELOW
from dictation.decide.rivals import Parse, animals_in
from dictation.decide.understanding import in_words
from dictation.recognition.protocol import Heard, Outcome
from dictation.visit.state import Visit
from grammar.findings import Seen
from grammar.numbers import TENS

GROWS = frozenset({*TENS, "hundred", "and", "point"})
"""Words behind which a number goes on: within 'a hundred ... and twenty' people pause 0.3 s."""


def pause_after(heard: Heard, parse: Parse, visit: Visit) -> float:
    """Seconds of silence that end an utterance of which this was heard so far.

    What is surely a sentence has ended, whatever could follow: what does is joined to it. What is
    surely the beginning of one waits longest. A number or a tag that may go on, and what is not
    sure or not for us, wait as long as ever: in pieces they would be stored or asked in pieces.
    """
    if heard.outcome is not Outcome.HEARD or heard.confidence < ASK_BELOW:
        return LIVE_HANG_OVER_S
    words = heard.hypotheses[0].normal
    reading = parse(words, visit.on_date)
    last = reading.said[-1].what if reading.said else None
    if reading.unread is not None or (isinstance(last, Seen) and last.remark is None):
        return BEGUN_HANG_OVER_S
    tags = [animal.tag for animal in animals_in(reading.said) if animal.tag is not None]
    if in_words(words).split()[-1] in GROWS or (tags and len(visit.numbers.named(tags[-1])) != 1):
        return LIVE_HANG_OVER_S
    return SENTENCE_HANG_OVER_S
