"""The form that adds a photograph to a case."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.domain.errors import Problem
from fieldnotes.tui.fields.choices import YES_NO, ChoiceField, lettered
from fieldnotes.tui.fields.field import Field
from fieldnotes.tui.forms.form import Answers, Form, Pane, Reading

if TYPE_CHECKING:
    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import Saved


class AddPhoto(Form):
    """One picture file, the wound it shows, and what it shows."""

    name = "photo"

    def __init__(self, desk: Casework, ref: str) -> None:
        file = desk.file(ref)
        self._desk = desk
        self.case = file.case.ref
        self.title = f"Photograph: {file.horse.name}"
        labels = [w.label for w in file.case.wounds]
        wounds = lettered((label, f"wound {label}") for label in labels)
        self._pane = (Pane("photo", "Photograph", (
            Field(key="file", label="File", required=True,
                  hint="path of a JPEG, PNG or WebP picture; it is copied into the store"),
            ChoiceField(key="wound", label="Shows", given=wounds,
                        default=labels[0] if len(labels) == 1 else ""),
            Field(key="caption", label="Caption", hint="e.g. from the front, ruler beside it"),
            ChoiceField(key="keep_position", label="Keep position", given=YES_NO,
                        hint="where it was taken is removed unless you say yes"),
        )),)  # fmt: skip

    def panes(self, answers: Answers) -> tuple[Pane, ...]:
        """Give the one page."""
        _ = answers
        return self._pane

    def problems(self, answers: Answers) -> tuple[Problem, ...]:
        """Give everything wrong; the picture is decoded in full."""
        r = Reading(self._pane, answers)
        file = r.get("file", "")
        found = r.faults()
        if found:
            return found
        fault = self._desk.album.fault(self.case, file)
        return (Problem("file", fault),) if fault else ()

    def save(self, answers: Answers) -> Saved:
        """Copy the picture into the store and record it."""
        r = Reading(self._pane, answers)
        return self._desk.album.add(
            self.case,
            r.get("file", ""),
            r.get("wound") or "",
            r.get("caption", ""),
            keep_position=bool(r.get("keep_position")),
        )
