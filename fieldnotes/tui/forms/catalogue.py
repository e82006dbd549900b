"""Every form by name, so that a key, the palette and a kept draft open the same one."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from fieldnotes.tui.lazy import named

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldnotes.casework.desk import Casework
    from fieldnotes.tui.forms.form import Form

FORMS = {
    "first_visit": "forms.first_visit:FirstVisit",
    "recheck": "forms.recheck:Recheck",
    "report": "forms.report:Report",
    "note": "forms.small:note",
    "wound_added": "forms.wound_form:wound_added",
    "photo": "forms.photo:AddPhoto",
    "outcome": "forms.small:outcome",
    "discharge": "forms.small:discharge",
    "death": "forms.death:DeathForm",
    "referral": "forms.small:referral",
    "hold": "forms.small:hold",
    "consent": "forms.small:consent",
    "amendment": "forms.small:amendment",
    "flag_answer": "forms.flag_answer:flag_answer",
    "horse": "forms.horse_form:new_horse",
    "animal": "forms.horse_form:animal",
    "owner": "forms.register_forms:owner",
    "premises": "forms.register_forms:premises",
    "practice": "forms.settings:SettingsForm",
    "person": "forms.register_forms:PersonForm",
    "rule": "forms.rule_forms:RuleForm",
    "new_rule": "forms.rule_forms:new_rule",
    "dispute": "forms.rule_forms:DisputeForm",
    "mail_server": "forms.post_forms:mail_server",
    "wording": "forms.post_forms:wording",
    "contact": "forms.post_forms:contact",
    "weight": "forms.post_forms:weight",
    "own_dose": "forms.formulary_forms:own_dose",
    "own_strength": "forms.formulary_forms:own_strength",
    "own_choice": "forms.formulary_forms:own_choice",
    "own_mark": "forms.formulary_forms:own_mark",
    "own_price": "forms.formulary_forms:own_price",
    "material_price": "forms.formulary_forms:material_price",
    "road_call": "forms.road_forms:call",
    "road_days": "forms.road_forms:days",
    "stock": "forms.road_forms:stock",
    "road_skip": "forms.road_forms:skip",
    "road_lock": "forms.road_forms:lock",
    "road_withdraw": "forms.road_forms:withdraw",
    "vial_receive": "forms.vial_forms:receive",
    "vial_draw": "forms.vial_forms:draw",
    "vial_waste": "forms.vial_forms:waste",
    "vial_leave": "forms.vial_forms:leave",
    "vial_count": "forms.vial_forms:count",
    "vial_correct": "forms.vial_forms:correct",
    "vial_book": "forms.vial_forms:book",
    "vial_print": "forms.register_print:RegisterPrint",
}
"""What makes each form; its module is imported when the form is first opened."""
NEEDS_CASE = frozenset(FORMS) - {
    "first_visit", "horse", "owner", "premises", "practice", "person", "new_rule",
    "road_call", "road_days", "stock", "mail_server", "material_price",
    "vial_print",
}  # fmt: skip


def opener(name: str) -> Callable[[Casework, str], Form]:
    """Give what makes a form over the desk, about a case where it needs one."""
    return cast("Callable[[Casework, str], Form]", named(FORMS[name]))
