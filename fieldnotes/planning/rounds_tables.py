"""Reads a plain table of many days strictly; every refusal names the place."""

from __future__ import annotations

from typing import Any

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.planning.rounds import RoundsProblem
from fieldnotes.planning.tables import (
    index,
    known_keys,
    number,
    row,
    service_row,
    travel_rows,
    window_rows,
)

_MOST_DAYS = 60


def rounds_table(table: dict[str, Any]) -> RoundsProblem:
    """Give the problem a table describes; unplaced visits cost more than any way to place them."""
    needed = ("days", "day_end", "travel", "service", "windows", "allowed_days")
    caps = ("most_visits", "most_service")
    known_keys(table, needed, ("day_penalty", "depot", "minimise", "name", "unit", *caps))
    days = index(table["days"], "days", _MOST_DAYS + 1)
    travel = travel_rows(table)
    size = len(travel)
    penalty = _penalties(table, size, days)
    dearest = max((x for prices in penalty for x in prices if x is not None), default=0.0)
    visits, service = table.get("most_visits"), table.get("most_service")
    return RoundsProblem(
        day_ends=(number(table["day_end"], "day_end"),) * days,
        travel=travel,
        service=service_row(table, size),
        windows=window_rows(table, size),
        penalty=penalty,
        unplaced_price=4 * max(max(cells) for cells in travel) + dearest + 1,
        most_visits=None if visits is None else index(visits, "most_visits", size),
        most_service=None if service is None else number(service, "most_service"),
    )


def _penalties(table: dict[str, Any], size: int, days: int) -> tuple[tuple[float | None, ...], ...]:
    allowed = row(table["allowed_days"], "allowed_days", size)
    given = table.get("day_penalty")
    priced = row([{}] * size if given is None else given, "day_penalty", size)
    return tuple(
        _visit_prices(allowed[i], priced[i], i, days) if i else (None,) * days for i in range(size)
    )


def _visit_prices(allowed: object, priced: object, i: int, days: int) -> tuple[float | None, ...]:
    if not isinstance(priced, dict):
        raise RefusedInputError(f"day_penalty[{i}]", "must be an object")
    prices: list[float | None] = [None] * days
    for k, day in enumerate(row(allowed, f"allowed_days[{i}]")):
        prices[index(day, f"allowed_days[{i}][{k}]", days, lowest=0)] = 0.0
    for key, price in priced.items():
        place = f"day_penalty[{i}].{key}"
        if not key.isdecimal() or int(key) >= days:
            raise RefusedInputError(place, f"must be a day from 0 to {days - 1}")
        late = number(price, place)
        if prices[int(key)] is not None:
            prices[int(key)] = late
    return tuple(prices)
