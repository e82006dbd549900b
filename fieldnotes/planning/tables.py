"""Reads a plain travel table strictly; every refusal names the place."""

from __future__ import annotations

import json
import math
from typing import Any

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.planning.day import DayProblem, Pause

_MOST_ROWS = 127


def read_table(text: str) -> dict[str, Any]:
    """Parse JSON, refusing doubled keys, NaN and infinity."""
    try:
        document = json.loads(text, object_pairs_hook=_once)
        _all_finite(document, "")
    except (ValueError, RecursionError) as error:  # ValueError: also a number of 5,000 digits
        raise RefusedInputError("table", f"not JSON: {error}") from error
    if not isinstance(document, dict):
        raise RefusedInputError("table", "must be a JSON object")
    return document


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise RefusedInputError(key, "stands twice")
        found[key] = value
    return found


def _all_finite(value: object, place: str) -> None:
    if isinstance(value, float) and not math.isfinite(value):
        raise RefusedInputError(place, "must be a finite number: NaN and Infinity are none")
    if isinstance(value, list):
        for i, entry in enumerate(value):
            _all_finite(entry, f"{place}[{i}]")
    if isinstance(value, dict):
        for key, entry in value.items():
            _all_finite(entry, f"{place}.{key}" if place else key)


def number(value: object, place: str) -> float:
    """Give a finite number that is not negative."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise RefusedInputError(place, "must be a number")
    try:
        found = float(value)
    except OverflowError:
        found = math.inf
    if not math.isfinite(found) or found < 0:
        raise RefusedInputError(place, "must be a finite number, not negative")
    return found


def row(value: object, place: str, length: int | None = None) -> list[Any]:
    """Give a list, of the length asked for."""
    if not isinstance(value, list):
        raise RefusedInputError(place, "must be a list")
    if length is not None and len(value) != length:
        raise RefusedInputError(place, f"has {len(value)} entries, needs {length}")
    return value


def index(value: object, place: str, size: int, lowest: int = 1) -> int:
    """Give a whole number of a row (the base is 0)."""
    whole = isinstance(value, int) and not isinstance(value, bool)
    if not whole or not lowest <= int(str(value)) < size:
        raise RefusedInputError(place, f"must be a whole number from {lowest} to {size - 1}")
    return int(str(value))


def known_keys(table: dict[str, Any], needed: tuple[str, ...], others: tuple[str, ...]) -> None:
    """Refuse missing and unknown keys."""
    for key in needed:
        if key not in table:
            raise RefusedInputError(key, "is missing")
    for key in table:
        if key not in needed and key not in others:
            raise RefusedInputError(key, "is not a key of this table")


def travel_rows(table: dict[str, Any]) -> tuple[tuple[float, ...], ...]:
    """Give the square travel table."""
    rows = row(table["travel"], "travel")
    if not 1 <= len(rows) <= _MOST_ROWS:
        raise RefusedInputError("travel", f"needs 1 to {_MOST_ROWS} rows")
    return tuple(
        tuple(
            number(cell, f"travel[{i}][{j}]")
            for j, cell in enumerate(row(cells, f"travel[{i}]", len(rows)))
        )
        for i, cells in enumerate(rows)
    )


def window_rows(table: dict[str, Any], size: int) -> tuple[tuple[float, float], ...]:
    """Give [open, close] of every row."""
    found = []
    for i, pair in enumerate(row(table["windows"], "windows", size)):
        opens, closes = (
            number(x, f"windows[{i}][{k}]") for k, x in enumerate(row(pair, f"windows[{i}]", 2))
        )
        if closes < opens:
            raise RefusedInputError(f"windows[{i}]", "closes before it opens")
        found.append((opens, closes))
    return tuple(found)


def service_row(table: dict[str, Any], size: int) -> tuple[float, ...]:
    """Give the service time of every row."""
    cells = row(table["service"], "service", size)
    return tuple(number(x, f"service[{i}]") for i, x in enumerate(cells))


def _skip(table: dict[str, Any], size: int) -> tuple[float | None, ...]:
    if table.get("skip") is None:
        return ()
    cells = row(table["skip"], "skip", size)
    return tuple(None if x is None else number(x, f"skip[{i}]") for i, x in enumerate(cells))


def _pause(table: dict[str, Any]) -> Pause | None:
    found = table.get("break")
    if found is None:
        return None
    if not isinstance(found, dict):
        raise RefusedInputError("break", "must be an object")
    known_keys(found, ("earliest", "latest", "minutes"), ())
    pause = Pause(**{key: number(found[key], f"break.{key}") for key in found})
    if pause.latest < pause.earliest:
        raise RefusedInputError("break", "its latest start is before its earliest")
    return pause


def _lock(table: dict[str, Any], name: str, size: int) -> int | None:
    locks = table.get("locks")
    if locks is None:
        return None
    if not isinstance(locks, dict):
        raise RefusedInputError("locks", "must be an object")
    known_keys(locks, (), ("first", "final"))
    found = locks.get(name)
    return None if found is None else index(found, f"locks.{name}", size)


def day_table(table: dict[str, Any]) -> DayProblem:
    """Give the day a table describes."""
    known_keys(
        table,
        ("travel", "service", "windows"),
        ("depot", "minimise", "day_end", "skip", "last", "break", "locks", "name", "unit"),
    )
    travel = travel_rows(table)
    size = len(travel)
    index(table.get("depot", 0), "depot", 1, lowest=0)
    minimise = table.get("minimise", "travel")
    if minimise not in ("travel", "finish"):
        raise RefusedInputError("minimise", "must be travel or finish")
    last = row([] if table.get("last") is None else table["last"], "last")
    end = table.get("day_end")
    return DayProblem(
        travel=travel,
        service=service_row(table, size),
        windows=tuple((window,) for window in window_rows(table, size)),
        day_end=math.inf if end is None else number(end, "day_end"),
        minimise=minimise,
        skip=_skip(table, size),
        last=tuple(index(x, f"last[{i}]", size) for i, x in enumerate(last)),
        pause=_pause(table),
        first=_lock(table, "first", size),
        final=_lock(table, "final", size),
    )
