"""Events of a journal of version 1, as the inputs that they were.

That version wrote each value with the name of its class under "is", and numbered a finding by its
phrase. Only words and numbers are translated here; what an input means is decided elsewhere.
"""

from __future__ import annotations

import json
import re
from typing import Any

from dictation.errors import BadInputError
from dictation.visit.facts import WORDS, FindingSet, Happened
from dictation.visit.inputs import By, Input, Noted
from dictation.visit.parts import EFFECTS, TYPED_IN_FROM
from dictation.visit.state import Visit
from dictation.visit.words import WHAT_IS_SAID, WordsError, facts_from, input_from

FINDINGS_A_PHRASE = 100
"""A finding's number was its phrase's number times this, plus its place in the phrase."""

TAGGED = frozenset({*WHAT_IS_SAID.values(), *EFFECTS.values()})
"""The words of today for classes that stood in a union: their names, in small letters."""

RENAMED = {"utterance": "phrase", "of_utterance": "of_phrase", "from_utterance": "from_phrase"}

HAPPENED = frozenset(word for kind, word in WORDS.items() if issubclass(kind, Happened))
"""Kinds of event that are facts as they were."""

KINDS = {
    "corrected": "finding_changed",
    "withdrawn": "finding_withdrawn",
    "query_answered": "answered",
    "phrase_moved": "moved",
    "renumbered": "tag_changed",
    "rephrased": "put_right",
    "reheard": "heard_again",
    "undone": "taken_back",
}
"""Kinds of event whose input has another word today."""

LEFT_OUT = frozenset({"herd_digest", "grammar_version", "seen", "number", "undone", "why", "who"})
"""Fields that have no place in an input, or another name there."""


class Translator:
    """Translates event after event; it knows which numbers have become which."""

    def __init__(self) -> None:
        self._taken: dict[str, str] = {}

    def translate(self, visit: Visit, kind: str, body: str) -> tuple[Input, By]:
        """An event as an input to ``visit``, which is as all events before it left it.

        Raises BadInputError for what no version ever wrote.
        """
        try:
            event = json.loads(body)
            if kind in HAPPENED:
                return Noted(_happened(kind, event)), By()
            word = KINDS.get(kind, kind)
            fields = self._fields(visit, word, event)
            given = input_from(word, json.dumps(fields))
        except (KeyError, TypeError, ValueError, IndexError, WordsError) as error:
            raise BadInputError(f"kind {kind!r} cannot be read ({error})") from error
        assert given is not None
        voice = "voice" if word in ("heard", "typed", "joined") else ""
        return given, By(str(event.get("who") or voice), str(event.get("why") or ""))

    def _fields(self, visit: Visit, word: str, event: dict[str, Any]) -> dict[str, Any]:
        body = _modern(event)
        fields = {name: value for name, value in body.items() if name not in LEFT_OUT}
        fields.pop("based_on", None)
        if word == "heard_again":
            fields["grammar_version"] = event["grammar_version"]
        if word == "taken_back":
            fields["entry"] = event["undone"]
        if "finding" in fields:
            fields["finding"] = _number(visit, fields["finding"])
        if "query" in fields:
            fields["query"] = self._taken.get(fields["query"], fields["query"])
        if word == "exam_taken":
            fields = self._exam_taken(fields, event)
        return fields

    def _exam_taken(self, fields: dict[str, Any], event: dict[str, Any]) -> dict[str, Any]:
        """Findings are named by their places in the file."""
        number = event["number"]
        places = {r["number"]: n for n, r in enumerate(fields["recorded"], start=1)}
        for recorded, place in zip(fields["recorded"], places.values(), strict=True):
            recorded["number"] = place
        for asked in fields.get("asked", ()):
            effects = [a["effect"] for a in asked.get("alternatives", ())]
            effects += [asked["no"]] if asked.get("no") else []
            for effect in effects:
                changes = effect.get("changes", ())
                effect["changes"] = [[places[n], what] for n, what in changes]
                effect["withdraw"] = [places[n] for n in effect.get("withdraw", ())]
        questions = fields.get("asked") or fields.get("questions", ())
        for place in range(1, len(questions) + 1):
            self._taken[f"u{event['seen']}.taken{place}"] = f"t{number}.{place}"
        return {**fields, "exam": number}


def _happened(kind: str, event: dict[str, Any]) -> Any:
    left_out = ("herd_digest", "grammar_version")
    fields = {name: value for name, value in _modern(event).items() if name not in left_out}
    (fact,) = facts_from(json.dumps([{**fields, "is": kind}]))
    return fact


def _modern(value: Any, *, tagged: bool = False) -> Any:
    """The value with today's words; ``tagged``: it may be one of several kinds here."""
    if isinstance(value, list):
        return [_modern(each, tagged=True) for each in value]
    if not isinstance(value, dict):
        return value
    name = value.get("is", "")
    word = re.sub("(?<=[a-z])(?=[A-Z])", "_", name).lower()
    fields = {
        RENAMED.get(key, key): _modern(each, tagged=not (name == "Command" and key == "animal"))
        for key, each in value.items()
        if key != "is"
    }
    return {"is": word, **fields} if tagged and word in TAGGED else fields


def _number(visit: Visit, old: int) -> int:
    """The plain number of a finding that was numbered by its phrase."""
    phrase, place = divmod(old, FINDINGS_A_PHRASE)
    if phrase in visit.index.made:
        return visit.index.made[phrase][place - 1]
    facts = visit.acts[phrase - TYPED_IN_FROM].facts
    made = [f.number for f in facts if isinstance(f, FindingSet) and f.was is None]
    return made[place - 1]
