"""A form's answers as a draft keeps them: what was typed, no day, time or weight left open."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.domain.text import clean
from fieldnotes.tui.fields.moments import DateField, MomentField
from fieldnotes.tui.fields.weights import WeightField

if TYPE_CHECKING:
    from fieldnotes.tui.forms.form import Answers, Form


def drafted(form: Form, answers: Answers) -> dict[str, str]:
    """Give what a draft keeps; nothing while nothing is typed.

    "4h", "now" and a default of either would be read anew when the draft is taken up later, so
    days and times are kept as they are meant while the form is open, and a weight with its unit.
    """
    kept = {key: clean(text) for key, text in answers.items()}
    if not any(text.strip() for text in kept.values()):
        return {}
    for pane in form.panes(kept):
        for field in pane.fields:
            text = kept.get(field.key, field.default)
            if isinstance(field, MomentField | DateField):
                kept[field.key] = field.fixed(text)
            if isinstance(field, WeightField) and field.key in kept:
                kept[field.key] = field.fixed(text)
    return kept
