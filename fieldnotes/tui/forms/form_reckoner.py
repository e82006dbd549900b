"""What a visit form does with a result of the calculators."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.tui.fields.row import Answered, FieldRow
from fieldnotes.tui.forms.reckoner import Reckoner

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldnotes.tui.forms.form import Form
    from fieldnotes.tui.forms.reckon_page import Bench, Reckoned


class FormReckoner(Reckoner):
    """A form that takes results: as if each answer had been typed."""

    form: Form
    answers: dict[str, str]
    _pane: str

    def bench(self) -> Callable[[], Bench | None]:
        """Give what lays out the form's answers for the page in front."""
        form, answers, pane = self.form, dict(self.answers), self._pane
        return lambda: form.bench(answers, pane)

    def take_reckoned(self, found: Reckoned | None) -> None:
        """Put a result into its fields, those on this page and those on others."""
        if found is None:
            return
        rows = {row.field.key: row for row in self.query(FieldRow)}
        puts = found.into(self.answers)
        for key, answer in puts:
            if key in rows:
                rows[key].take(answer)
            else:
                self.post_message(Answered(key, answer))
        panes = self.form.panes({**self.answers, **dict(puts)})
        labels = {f.key: f"{p.title}, {f.label}" for p in panes for f in p.fields}
        self.say("✓ put in: " + "; ".join(labels[k] for k, _ in puts if k in labels), "done")
