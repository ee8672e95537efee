"""A recording as the utterances spoken in it."""

from __future__ import annotations

from collections.abc import Iterator

from dictation.audio.endpoint import (
    LONGEST_UTTERANCE_S,
    RECORDING_HANG_OVER_S,
    Endpointer,
    Utterance,
)
from dictation.audio.reading import Heed, ignore
from dictation.audio.recording import Recording
from dictation.audio.voice_activity import VoiceActivity


def utterances(
    recording: Recording,
    hang_over_s: float = RECORDING_HANG_OVER_S,
    longest_s: float = LONGEST_UTTERANCE_S,
    activity: VoiceActivity | None = None,
    heed: Heed = ignore,
) -> Iterator[Utterance]:
    """Utterances in order, read as they are asked for; blips are left out.

    ``heed`` is told what was found wrong with the file, on opening and on the way. Raises
    BadInputError if nothing of the file could be read.
    """
    for notice in recording.notices:
        heed(notice)
    endpointer = Endpointer(hang_over_s, longest_s, activity)
    for block in recording.blocks(heed):
        for event in endpointer.push(block):
            if isinstance(event, Utterance):
                yield event
    for event in endpointer.flush():
        if isinstance(event, Utterance):
            yield event
