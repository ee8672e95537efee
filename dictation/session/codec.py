"""Frozen dataclasses to JSON and back without loss, read off their type annotations.

A union of dataclasses is written with the name of the class under "is"; enumerations as their
words, dates as ISO 8601. A field that is absent takes its default, so an older journal stays
readable; a field or name that is unknown raises ``CodecError``: it was written by a newer version.
"""

from __future__ import annotations

import dataclasses
import functools
import json
import types
import typing
from datetime import date
from enum import StrEnum

from grammar.findings import plain

Plain: typing.TypeAlias = "bool | int | float | str | list[Plain] | dict[str, Plain] | None"


class CodecError(ValueError):
    """What was read does not fit the type that was asked for."""


def encode(value: object) -> Plain:
    """A value made of frozen dataclasses, tuples, enums, dates and plain values, as JSON values."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        record: dict[str, Plain] = {"is": type(value).__name__}
        for field in dataclasses.fields(value):
            record[field.name] = encode(getattr(value, field.name))
        return record
    if isinstance(value, tuple | list):
        return [encode(each) for each in value]
    simple = plain(value)
    if simple is None or isinstance(simple, bool | int | float | str):
        return simple
    raise CodecError(f"{type(value).__name__} cannot be written to the journal")


def decode(kind: object, data: Plain) -> typing.Any:
    """The value of type ``kind`` that ``encode`` wrote as ``data``."""
    origin = typing.get_origin(kind)
    if origin in (typing.Union, types.UnionType):
        return _decode_union(typing.get_args(kind), data)
    if origin is tuple:
        return _decode_tuple(typing.get_args(kind), data)
    if dataclasses.is_dataclass(kind) and isinstance(kind, type):
        return _decode_dataclass(kind, data)
    if isinstance(kind, type):
        return _decode_plain(kind, data)
    raise CodecError(f"no way to read a {kind}")


def to_text(value: object) -> str:
    """``encode`` as one line of JSON."""
    return json.dumps(encode(value), ensure_ascii=False, allow_nan=False, separators=(",", ":"))


def from_text(kind: object, text: str) -> typing.Any:
    """``decode`` from one line of JSON."""
    try:
        data = json.loads(text)
    except json.JSONDecodeError as error:
        raise CodecError(f"not JSON: {error}") from error
    return decode(kind, data)


def _decode_union(options: tuple[object, ...], data: Plain) -> typing.Any:
    if data is None and type(None) in options:
        return None
    left = [option for option in options if option is not type(None)]
    if isinstance(data, dict):
        for option in left:
            if isinstance(option, type) and option.__name__ == data.get("is"):
                return decode(option, data)
        raise CodecError(f"unknown kind {data.get('is')!r}")
    if len(left) == 1:
        return decode(left[0], data)
    raise CodecError(f"{data!r} is none of {options}")


def _decode_tuple(arguments: tuple[object, ...], data: Plain) -> tuple[typing.Any, ...]:
    if not isinstance(data, list):
        raise CodecError(f"{data!r} is no list")
    if len(arguments) == 2 and arguments[1] is Ellipsis:
        return tuple(decode(arguments[0], each) for each in data)
    if len(arguments) != len(data):
        raise CodecError(f"{len(data)} values where {len(arguments)} belong")
    return tuple(decode(kind, each) for kind, each in zip(arguments, data, strict=True))


@functools.cache
def _fields_of(kind: type) -> dict[str, object]:
    hints = typing.get_type_hints(kind)
    return {field.name: hints[field.name] for field in dataclasses.fields(kind)}


def _decode_dataclass(kind: type, data: Plain) -> typing.Any:
    if not isinstance(data, dict) or data.get("is") != kind.__name__:
        raise CodecError(f"{data!r} is no {kind.__name__}")
    fields = _fields_of(kind)
    unknown = set(data) - set(fields) - {"is"}
    if unknown:
        raise CodecError(f"{kind.__name__} has no field {sorted(unknown)[0]!r}")
    values = {name: decode(fields[name], data[name]) for name in fields if name in data}
    try:
        return kind(**values)
    except TypeError as error:
        raise CodecError(f"{kind.__name__}: {error}") from error


def _decode_plain(kind: type, data: Plain) -> typing.Any:
    if kind is date and isinstance(data, str):
        return _made(date.fromisoformat, data)
    if issubclass(kind, StrEnum) and isinstance(data, str):
        return _made(kind, data)
    if kind is float and isinstance(data, int | float) and not isinstance(data, bool):
        return float(data)
    if type(data) is kind:
        return data
    raise CodecError(f"{data!r} is no {kind.__name__}")


def _made(make: typing.Callable[[str], typing.Any], data: str) -> typing.Any:
    try:
        return make(data)
    except ValueError as error:
        raise CodecError(str(error)) from error
