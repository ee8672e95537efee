"""Events that only a visit heard live has."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Joined:
    """Two utterances were one phrase with a pause in it.

    What ``first`` and ``second`` did no longer counts: their sound is heard together as utterance
    ``into``, whose ``Heard`` follows. Its file is kept before this event is written.
    """

    first: int
    second: int
    into: int
    at_s: float
    until_s: float


@dataclass(frozen=True, slots=True)
class Spoke:
    """The tool speaks itself from ``from_s`` until ``until_s``: nothing is listened to meanwhile.

    Written before it begins, so that its own words are never taken for the speaker's.
    """

    text: str
    from_s: float
    until_s: float


@dataclass(frozen=True, slots=True)
class Listened:
    """All that was spoken until then has been dealt with; after a crash only later sound counts."""

    until_s: float
