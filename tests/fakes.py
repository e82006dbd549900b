"""Ten-line stand-ins for what lies outside the app."""

from __future__ import annotations

from fieldnotes.casework.desk import Casework


class DeskWithTray(Casework):
    """The desk with a handout that is only put on a tray: nothing is written or sent."""

    tray: tuple[str, ...] = ()

    def handout(self, ref: str, form: str = "text") -> bytes:
        return f"Aftercare for case {ref} as {form}".encode()

    def queue_handout(self, ref: str) -> None:
        self.tray = (*self.tray, ref)
