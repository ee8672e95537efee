"""What a tag reader sends, taken into a visit: a number names the animal, the rest is told."""

from __future__ import annotations

from dictation.live.events import Event, Message
from dictation.live.listening import Listening
from dictation.reader.number import electronic
from dictation.reader.port import ReaderPort, Told


def take_read(desk: Listening, reader: ReaderPort | None) -> tuple[Event, ...]:
    """Take up what the reader has sent since the last time."""
    happened: list[Event] = []
    while reader is not None and (sent := reader.next()) is not None:
        if isinstance(sent, Told):
            happened += _tell(desk, sent.sentence)
        elif electronic(sent.text) is None:
            happened += _tell(desk, f"The reader sent '{sent.text}', which is no number of a tag.")
        else:
            happened += desk.typed(sent.text)
    return tuple(happened)


def _tell(desk: Listening, sentence: str) -> tuple[Event, ...]:
    desk.now.told = sentence
    return (Message(sentence, "reader"),)
