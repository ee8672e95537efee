"""Facts and inputs to the JSON of the journal and back, by the fixed words of each kind.

Structuring is done by cattrs. A union is written with its word under "is"; enumerations as their
words, dates as ISO 8601. What is unknown (None, or no entries) is left out where that is the
default. A word or field that is not known raises WordsError: it was written by a newer version.
"""

from __future__ import annotations

import dataclasses
import hashlib
import json
from collections.abc import Callable, Iterable
from datetime import date
from enum import StrEnum
from functools import cache
from types import UnionType
from typing import Any

from cattrs import Converter
from cattrs.errors import ForbiddenExtraKeysError
from cattrs.gen import make_dict_structure_fn, make_dict_unstructure_fn, override

from dictation.visit import facts, inputs
from dictation.visit.parts import EFFECTS, Effect
from grammar.exam import Exam, Flag
from grammar.findings import FINDING_NAMES, Command, Finding

WHAT_IS_SAID: dict[type, str] = {**FINDING_NAMES, Command: "command"}


FORGOTTEN = "null"
"""Stands for an input whose words were forgotten."""


class WordsError(ValueError):
    """What was read is none of the words that are known here."""


def facts_text(found: Iterable[facts.Fact]) -> str:
    """Facts as one line of JSON, the same for the same facts for ever."""
    return _text([_tagged(_converter(), fact, facts.WORDS) for fact in found])


def facts_from(text: str) -> tuple[facts.Fact, ...]:
    """The facts that ``facts_text`` wrote. Raises WordsError."""
    read = _reader_of_facts()
    try:
        return tuple([read(body) for body in json.loads(text)])
    except _ERRORS as error:
        raise _told(error) from error


def input_text(given: inputs.Input) -> str:
    """An input as one line of JSON; its word stands beside it."""
    if isinstance(given, inputs.Noted):
        return "{}"  # the fact says it all
    return _text(_converter().unstructure(given))


def input_from(word: str, text: str) -> inputs.Input | None:
    """The input that ``input_text`` wrote; None for what only its fact tells, and for what was
    forgotten. Raises WordsError.
    """
    kind = next((kind for kind, known in inputs.INPUTS.items() if known == word), None)
    if kind is inputs.Noted or (kind is not None and text == FORGOTTEN):
        return None
    if kind is None:
        raise WordsError(f"'{word}' is no input that is known here")
    try:
        given: inputs.Input = _converter().structure(json.loads(text), kind)
    except _ERRORS as error:
        raise _told(error) from error
    return given


def phrase_of(given: inputs.Input) -> int | None:
    """The phrase that an input is, or is about."""
    match given:
        case inputs.PhraseInserted():
            return given.of_phrase
        case inputs.PhrasesJoined():
            return given.into
        case _:
            return getattr(given, "phrase", None)


def digest_of(exam: Exam, flags: tuple[Flag, ...]) -> str:
    """SHA-256 of what counts of an exam: its tag, findings, open questions and flags.

    What was withdrawn does not: taken back, a deed leaves an approval as it was. Made of the words
    of the journal, so that a field that comes later changes no digest.
    """
    write = _converter().unstructure
    findings = [[r.number, str(r.state), write(r.finding, Finding)] for r in exam.standing]
    raised = [[f.rule, str(f.severity), f.why, list(f.figures)] for f in flags]
    seen = {"tag": exam.tag, "findings": findings, "questions": exam.open_queries, "flags": raised}
    return hashlib.sha256(_text(seen).encode()).hexdigest()


_ERRORS = (KeyError, TypeError, ValueError, AttributeError, ForbiddenExtraKeysError, RecursionError)


def _told(error: BaseException) -> WordsError:
    return WordsError(f"{type(error).__name__}: {str(error)[:200]}")


def _text(body: object) -> str:
    return json.dumps(
        body, ensure_ascii=False, allow_nan=False, sort_keys=True, separators=(",", ":")
    )


@cache
def _reader_of_facts() -> Callable[[dict[str, Any]], Any]:
    return _reader(_converter(), facts.WORDS)


@cache
def _converter() -> Converter:
    converter = Converter(detailed_validation=False, forbid_extra_keys=True)
    converter.register_structure_hook(date, lambda text, _: date.fromisoformat(text))
    converter.register_unstructure_hook(date, lambda day: day.isoformat())
    converter.register_structure_hook(float, lambda value, _: _number(value))
    for kind in (int, str, bool):
        converter.register_structure_hook(kind, _same)
    # Found before str, of which each is a kind.
    converter.register_structure_hook(StrEnum, lambda word, kind: kind(word))
    converter.register_unstructure_hook_factory(
        dataclasses.is_dataclass, lambda kind: _writer(kind, converter)
    )
    converter.register_structure_hook_factory(
        dataclasses.is_dataclass,
        lambda kind: make_dict_structure_fn(
            kind, converter, _cattrs_forbid_extra_keys=True, _cattrs_detailed_validation=False
        ),
    )
    converter.register_structure_hook_factory(
        lambda kind: isinstance(kind, UnionType) and _only(kind) is not None,
        lambda kind: _optional(_only(kind), converter),
    )
    _union(converter, Finding, FINDING_NAMES)
    _union(converter, Finding | Command, WHAT_IS_SAID)
    _union(converter, Effect, EFFECTS)
    _union(converter, Effect | None, EFFECTS)
    converter.register_structure_hook(bool | int | str | None, lambda value, _: value)
    converter.register_unstructure_hook(bool | int | str | None, lambda value: value)
    return converter


def _only(union: UnionType) -> Any:
    """The one type of 'this or nothing'; None for any other union."""
    kinds = [kind for kind in union.__args__ if kind is not type(None)]
    return kinds[0] if len(kinds) == 1 and len(union.__args__) == 2 else None


def _optional(kind: Any, converter: Converter) -> Any:
    """A reader that is looked up once: a visit has tens of thousands of such values."""
    hook = converter.get_structure_hook(kind)
    return lambda value, _: None if value is None else hook(value, kind)


def _same(value: Any, kind: type) -> Any:
    """What was written as this type, unchanged: a journal has no room for guesses."""
    if type(value) is not kind:
        raise WordsError(f"{value!r} is no {kind.__name__}")
    return value


def _number(value: Any) -> float:
    if type(value) not in (float, int):
        raise WordsError(f"{value!r} is no number")
    return float(value)


def _writer(kind: Any, converter: Converter) -> Any:
    left_out: dict[str, Any] = {
        field.name: override(omit_if_default=True)
        for field in dataclasses.fields(kind)
        if field.default in (None, ())
    }
    return make_dict_unstructure_fn(kind, converter, **left_out)


def _union(converter: Converter, union: Any, words: dict[Any, str]) -> None:
    """A union is read and written by the word of its member."""
    read = _reader(converter, words)
    converter.register_structure_hook(union, lambda body, _: None if body is None else read(body))
    converter.register_unstructure_hook(
        union, lambda value: None if value is None else _tagged(converter, value, words)
    )


def _tagged(converter: Converter, value: object, words: dict[Any, str]) -> dict[str, Any]:
    return {"is": words[type(value)], **converter.unstructure(value, type(value))}


def _reader(converter: Converter, words: dict[Any, str]) -> Callable[[dict[str, Any]], Any]:
    """Reads what ``_tagged`` wrote. Hooks are looked up once, and not before all are known."""
    kinds = {word: kind for kind, word in words.items()}
    hooks: dict[str, Any] = {}

    def read(body: dict[str, Any]) -> Any:
        word = body.get("is")
        if word not in kinds:
            raise WordsError(f"{str(body)[:80]} is none of {', '.join(kinds)}")
        del body["is"]
        if word not in hooks:
            hooks[word] = converter.get_structure_hook(kinds[word])
        return hooks[word](body, kinds[word])

    return read
