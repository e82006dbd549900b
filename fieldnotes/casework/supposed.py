"""Records as they will read once a form has kept what it says of the horse; nothing is written."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, cast

if TYPE_CHECKING:
    from fieldnotes.casework.ports import Records
    from fieldnotes.domain.patients import Horse
    from fieldnotes.domain.register import Register


class _Supposed:
    def __init__(self, records: Records, horse: Horse) -> None:
        self._records = records
        self._horse = horse

    def register(self) -> Register:
        """Give the register with the horse as it will stand."""
        known = self._records.register()
        return replace(known, horses={**known.horses, self._horse.id: self._horse})

    def __getattr__(self, name: str) -> Any:  # noqa: ANN401  (everything else is the records' own)
        return getattr(self._records, name)


def supposing(records: Records, horse: Horse | None) -> Records:
    """Give the records with one horse as it will stand; as they are without one."""
    return records if horse is None else cast("Records", _Supposed(records, horse))
