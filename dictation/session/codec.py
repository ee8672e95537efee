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

Reader: typing.TypeAlias = typing.Callable[[Plain], typing.Any]
"""Turns JSON values into the value of one type."""


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
    return _reader(kind)(data)


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


@functools.cache
def _reader(kind: object) -> Reader:
    """How values of a type are read, worked out once: a visit has tens of thousands of them."""
    origin = typing.get_origin(kind)
    if origin in (typing.Union, types.UnionType):
        return _union_reader(typing.get_args(kind))
    if origin is tuple:
        return _tuple_reader(typing.get_args(kind))
    if dataclasses.is_dataclass(kind) and isinstance(kind, type):
        return _dataclass_reader(kind)
    if isinstance(kind, type):
        return _plain_reader(kind)
    raise CodecError(f"no way to read a {kind}")


def _union_reader(options: tuple[object, ...]) -> Reader:
    may_be_none = type(None) in options
    left = [option for option in options if option is not type(None)]
    # Their readers are made when first needed: a type may contain itself.
    by_name = {option.__name__: option for option in left if isinstance(option, type)}
    only = _reader(left[0]) if len(left) == 1 else None

    def read(data: Plain) -> typing.Any:
        if data is None and may_be_none:
            return None
        if only is not None:
            return only(data)
        if isinstance(data, dict):
            option = by_name.get(str(data.get("is")))
            if option is None:
                raise CodecError(f"unknown kind {data.get('is')!r}")
            return _reader(option)(data)
        raise CodecError(f"{data!r} is none of {options}")

    return read


def _tuple_reader(arguments: tuple[object, ...]) -> Reader:
    repeated = _reader(arguments[0]) if len(arguments) == 2 and arguments[1] is Ellipsis else None
    readers = () if repeated is not None else tuple(_reader(each) for each in arguments)

    def read(data: Plain) -> tuple[typing.Any, ...]:
        if not isinstance(data, list):
            raise CodecError(f"{data!r} is no list")
        if repeated is not None:
            return tuple([repeated(each) for each in data])
        if len(readers) != len(data):
            raise CodecError(f"{len(data)} values where {len(readers)} belong")
        return tuple([read_one(each) for read_one, each in zip(readers, data, strict=True)])

    return read


@functools.cache
def _fields_of(kind: type) -> dict[str, Reader]:
    hints = typing.get_type_hints(kind)
    return {field.name: _reader(hints[field.name]) for field in dataclasses.fields(kind)}


def _dataclass_reader(kind: type) -> Reader:
    def read(data: Plain) -> typing.Any:
        if not isinstance(data, dict) or data.get("is") != kind.__name__:
            raise CodecError(f"{data!r} is no {kind.__name__}")
        fields = _fields_of(kind)
        values = {}
        for name, value in data.items():
            if name == "is":
                continue
            if name not in fields:
                raise CodecError(f"{kind.__name__} has no field {name!r}")
            values[name] = fields[name](value)
        try:
            return kind(**values)
        except TypeError as error:
            raise CodecError(f"{kind.__name__}: {error}") from error

    return read


def _plain_reader(kind: type) -> Reader:
    if kind is date:
        return lambda data: _made(kind, date.fromisoformat, data)
    if issubclass(kind, StrEnum):
        return lambda data: _made(kind, kind, data)

    def read(data: Plain) -> typing.Any:
        if type(data) is kind:
            return data
        if kind is float and type(data) is int:
            return float(data)
        raise CodecError(f"{data!r} is no {kind.__name__}")

    return read


def _made(kind: type, make: typing.Callable[[str], typing.Any], data: Plain) -> typing.Any:
    if not isinstance(data, str):
        raise CodecError(f"{data!r} is no {kind.__name__}")
    try:
        return make(data)
    except ValueError as error:
        raise CodecError(str(error)) from error
