"""Routes of administration: which are systemic, which are only recorded."""

from __future__ import annotations

from dataclasses import dataclass

from fieldnotes.domain.errors import UnknownNameError
from fieldnotes.knowledge.source import Row, Table, shipped_table


@dataclass(frozen=True)
class Route:
    """A route; `record_only` routes are written down but never reckoned from shipped data.

    `injected` ones are an owner's only where a vet says why; `classes` are the classes of drug a
    record-only route is offered for.
    """

    id: str
    name: str
    also: tuple[str, ...]
    systemic: bool
    record_only: bool
    injected: bool
    classes: tuple[str, ...]
    source: str


def _route(row: Row) -> Route:
    return Route(
        id=row.text("id"),
        name=row.text("name"),
        also=row.texts("also"),
        systemic=row.flag("systemic"),
        record_only=row.flag("record_only", default=False),
        injected=row.flag("injected", default=False),
        classes=row.texts("classes", ()),
        source=row.source(),
    )


def load_routes(table: Table | None = None) -> tuple[Route, ...]:
    """Read the routes."""
    return tuple(_route(r) for r in (table or shipped_table("routes.toml")).rows("route"))


def one_route(routes: tuple[Route, ...], text: str, field: str = "route") -> Route:
    """Give the route a text names; UnknownNameError lists the routes there are."""
    wanted = text.strip().casefold()
    for route in routes:
        if wanted in {n.casefold() for n in (route.id, route.name, *route.also)}:
            return route
    ids = tuple(r.id for r in routes)
    raise UnknownNameError(field, f"'{text}' is not one of {', '.join(ids)}", ids)


def is_injected(routes: tuple[Route, ...], text: str) -> bool:
    """Tell whether a route, however it was written, is an injection."""
    try:
        return one_route(routes, text).injected
    except UnknownNameError:
        return False
