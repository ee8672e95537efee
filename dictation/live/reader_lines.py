"""What a tag reader sends, taken into a visit: a number names the animal, the rest is told."""

from __future__ import annotations

from dictation.reader.number import electronic
from dictation.reader.port import ReaderPort, Told
from dictation.session.happenings import Happening
from dictation.session.listening import Listening


def take_read(desk: Listening, reader: ReaderPort | None) -> tuple[Happening, ...]:
    """Take up what the reader has sent since the last time."""
    happened: list[Happening] = []
    while reader is not None and (sent := reader.next()) is not None:
        if isinstance(sent, Told):
            happened += _tell(desk, sent.sentence)
        elif electronic(sent.text) is None:
            happened += _tell(desk, f"The reader sent '{sent.text}', which is no number of a tag.")
        else:
            happened += desk.typed(sent.text)
    return tuple(happened)


def _tell(desk: Listening, sentence: str) -> tuple[Happening, ...]:
    desk.now.told = sentence
    return (Happening("microphone", sentence, None, None, more={"state": "reader"}),)
