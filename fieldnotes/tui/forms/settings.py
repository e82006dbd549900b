"""The settings screen: the practice's settings in pages, each checked where it stands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from fieldnotes.casework.settings import Setting, settings, with_settings
from fieldnotes.domain.entries import REGISTER, PracticeSet
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.tui.fields.field import Field
from fieldnotes.tui.forms.form import Answers, Form, Pane, Reading

if TYPE_CHECKING:
    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import Saved
    from fieldnotes.domain.errors import Problem
    from fieldnotes.domain.patients import Practice


@dataclass(frozen=True, kw_only=True)
class SettingField(Field):
    """A setting's text; what it is read as is echoed where that is not what was typed."""

    setting: Setting

    def _read(self, text: str) -> Any:  # noqa: ANN401  (each setting reads its own type)
        return self.setting.value(text)

    def echo(self, text: str) -> str:
        """Give the setting as it would be kept."""
        try:
            value = self.setting.value(text)
        except RefusedInputError:
            return ""
        said = "" if value is None else self.setting.text(value)
        return said if said != text.strip() else ""


def setting_field(setting: Setting, practice: Practice) -> SettingField:
    """Give the field of one setting, filled with what is known."""
    also = ("practice.base", "practice.base.lat", "practice.base.lon", "position")
    return SettingField(
        key=setting.key, label=setting.label, hint=setting.hint, default=setting.of(practice),
        setting=setting, also=also if setting.key == "base" else (),
    )  # fmt: skip


def setting_panes(practice: Practice) -> tuple[Pane, ...]:
    """Give the pages of the settings, filled with what is known."""
    pages: dict[str, list[Field]] = {}
    for s in settings():
        pages.setdefault(s.page, []).append(setting_field(s, practice))
    return tuple(Pane(page.casefold(), page, tuple(fields)) for page, fields in pages.items())


def read_settings(r: Reading, known: Practice) -> Practice:
    """Give the practice with what was typed and can be read."""
    bad = {p.field for p in r.faults()}
    keys = (s.key for s in settings() if r.has(s.key))
    return with_settings(known, {key: r.text(key) for key in keys if key not in bad})


class SettingsForm(Form):
    """The practice's settings."""

    name = "practice"
    title = "Settings"

    def __init__(self, desk: Casework, _ref: str = "") -> None:
        self._desk = desk
        self._known = desk.practice()
        self._panes = setting_panes(self._known)

    def panes(self, answers: Answers) -> tuple[Pane, ...]:
        """Give the pages."""
        _ = answers
        return self._panes

    def problems(self, answers: Answers) -> tuple[Problem, ...]:
        """Give everything wrong, each under its setting."""
        r = Reading(self._panes, answers)
        return r.faults() or self._desk.check(REGISTER, self._body(r))

    def save(self, answers: Answers) -> Saved:
        """Keep the settings; they hold from now on."""
        return self._desk.save(self._body(Reading(self._panes, answers)))

    def _body(self, r: Reading) -> PracticeSet:
        return PracticeSet(read_settings(r, self._known))
