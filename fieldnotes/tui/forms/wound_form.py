"""The form for a wound found, or torn open again, after the case was opened."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.domain.entries import WoundAdded
from fieldnotes.domain.wounds import Contamination, Wound, WoundKind
from fieldnotes.tui.fields.choices import ChoiceField, of_words
from fieldnotes.tui.fields.place import Spot
from fieldnotes.tui.forms.finding import find_region
from fieldnotes.tui.forms.small import CaseForm

if TYPE_CHECKING:
    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import CaseFile
    from fieldnotes.domain.entries import Body
    from fieldnotes.tui.forms.form import Form, Reading
    from fieldnotes.tui.forms.small import Fields

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def _fields(desk: Casework, _file: CaseFile) -> Fields:
    return (
        find_region("wound.region", "Region", desk.knowledge.regions),
        ChoiceField(key="wound.kind", label="Kind", default=WoundKind.LACERATION,
                    given=of_words(k.value for k in WoundKind), also=("wound.label",)),
        ChoiceField(key="wound.contamination", label="Contamination",
                    given=of_words(c.value for c in Contamination),
                    default=Contamination.CONTAMINATED),
    )  # fmt: skip


def wound_added(desk: Casework, ref: str) -> Form:
    """Give the form; the wound gets the next letter and is looked at in a recheck."""
    taken = {w.label for w in desk.case(ref).wounds}
    label = next(letter for letter in LETTERS if letter not in taken)

    def build(r: Reading) -> Body:
        spot: Spot = r.get("wound.region") or Spot("")
        kind = WoundKind(r.get("wound.kind") or WoundKind.LACERATION)
        dirt = Contamination(r.get("wound.contamination") or Contamination.CONTAMINATED)
        wound = Wound(label, spot.region, kind, spot.view, spot.point, spot.angle_deg, dirt)
        return WoundAdded(wound)

    return CaseForm(desk, ref, "wound_added", f"Wound {label}", _fields, build)
