"""JSON as the record keeps it: everything that could be read in two ways is refused."""

from __future__ import annotations

import json
import math
import re
from typing import Any, Final

from fieldnotes.domain.errors import StoreError

LARGEST_INTEGER: Final = 2**53  # above it a reader that uses doubles changes the number
DEEPEST: Final = 64
LARGEST_BYTES: Final = 10_000_000
HALF_CHARACTER: Final = "half a character (a lone surrogate)"

_TOKEN = re.compile(
    r'"[^"\\]*+(?:\\.[^"\\]*+)*+"?|[\[\]{}]|-?\d+(?:\.\d+)?(?:[eE][+-]?\d+)?|-?Infinity|NaN',
    re.DOTALL | re.ASCII,
)
_SURROGATE_ESCAPE = re.compile(r"\\u[dD][89a-fA-F]")
_COLON = re.compile(r"[ \t\n\r]*:")


class JsonRefusedError(StoreError):
    """JSON that is not taken; the text names the file, the line and the column."""


class _FaultError(ValueError):
    """Something a plain parser would let pass; the second reading finds where it stands."""


def _error(name: str, text: str, position: int, reason: str) -> JsonRefusedError:
    line = text.count("\n", 0, position) + 1
    column = position - text.rfind("\n", 0, position)
    return JsonRefusedError(f"{name}, line {line}, column {column}: {reason}")


def _integer(digits: str) -> int:
    if len(digits) > 17 or abs(int(digits)) > LARGEST_INTEGER:
        raise _FaultError
    return int(digits)


def _float(digits: str) -> float:
    value = float(digits)
    if not math.isfinite(value):
        raise _FaultError
    return value


def _constant(_name: str) -> float:
    raise _FaultError


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise _FaultError
    return found


_DECODER = json.JSONDecoder(
    object_pairs_hook=_object,
    parse_int=_integer,
    parse_float=_float,
    parse_constant=_constant,
)


def _text(data: bytes | str, name: str) -> str:
    """Give the text of a document without its byte order mark."""
    if len(data) > LARGEST_BYTES:
        raise JsonRefusedError(f"{name}: larger than {LARGEST_BYTES // 1_000_000} MB")
    try:
        if isinstance(data, bytes):
            return data.decode("utf-8-sig")
        data.encode("utf-8")
    except UnicodeDecodeError as error:
        before = error.object[: error.start].decode("utf-8")
        raise _error(name, before, len(before), "not UTF-8") from error
    except UnicodeEncodeError as error:
        raise _error(name, error.object, error.start, HALF_CHARACTER) from error
    return data.removeprefix("\ufeff")


def _number_fault(token: str) -> str:
    if token.lstrip("-")[0] in "IN":
        return f"{token} is not a number JSON knows"
    try:
        _float(token) if set(token) & set(".eE") else _integer(token)
    except _FaultError:
        return "the number is too large"
    return ""


def _decoded(token: str) -> str:
    """Give the string a token stands for; a broken token stands for itself."""
    try:
        return str(json.loads(token))
    except json.JSONDecodeError:
        return token  # the parser proper says what is wrong with it


def _string_fault(token: str, keys: set[str] | None) -> str:
    """Give what is wrong with a string; `keys` are those before it in its object, if it is one."""
    string = _decoded(token)
    if any("\ud800" <= char <= "\udfff" for char in string):
        return HALF_CHARACTER
    if keys is None:
        return ""
    if string in keys:
        return f"the key {string!r} stands twice"
    keys.add(string)
    return ""


def _first_fault(text: str) -> tuple[int, str] | None:
    """Give place and reason of the first thing in a text that strict JSON refuses."""
    open_keys: list[set[str]] = []
    for match in _TOKEN.finditer(text):
        part, reason = match.group(), ""
        if part in "[{":
            open_keys.append(set())
            reason = "nested too deeply" if len(open_keys) > DEEPEST else ""
        elif part in "]}":
            del open_keys[-1:]
        elif part.startswith('"'):
            is_key = open_keys and _COLON.match(text, match.end())
            reason = _string_fault(part, open_keys[-1] if is_key else None)
        else:
            reason = _number_fault(part)
        if reason:
            return match.start(), reason
    return None


def _refuse_fault(name: str, text: str) -> None:
    fault = _first_fault(text)
    if fault is not None:
        raise _error(name, text, *fault)


def loads(data: bytes | str, *, name: str) -> Any:  # noqa: ANN401  (JSON is any value)
    """Read one JSON document; JsonRefusedError names file and place.

    Refused: NaN and infinities, keys that stand twice, integers beyond 2**53, nesting deeper
    than 64, more than 10 MB, half characters, anything but UTF-8, anything after the value.
    """
    text = _text(data, name)
    if text.count("{") + text.count("[") > DEEPEST or _SURROGATE_ESCAPE.search(text):
        _refuse_fault(name, text)  # the parser would go as deep as it can before it fails
    try:
        return _DECODER.decode(text)
    except json.JSONDecodeError as error:
        raise _error(name, text, error.pos, error.msg) from error
    except _FaultError as error:
        _refuse_fault(name, text)
        raise JsonRefusedError(f"{name}: not strict JSON") from error


def dumps(value: object) -> bytes:
    """Give the canonical bytes of a value: sorted keys, no spaces, UTF-8; what is hashed."""
    try:
        text = json.dumps(
            value, sort_keys=True, separators=(",", ":"), allow_nan=False, ensure_ascii=False
        )
        return text.encode("utf-8")
    except ValueError as error:
        raise StoreError(f"this cannot be stored as JSON: {error}") from error
