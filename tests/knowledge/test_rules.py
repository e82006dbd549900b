"""The tables of follow-up rules and service minutes: every row sound, faults named by row."""

import pytest

from fieldnotes.domain.errors import KnowledgeError
from fieldnotes.knowledge.drugs import load_drugs
from fieldnotes.knowledge.rules import load_rules, practice_rules, read_rules
from fieldnotes.knowledge.service import load_services
from fieldnotes.knowledge.source import parse_table, shipped_text


def test_every_rule_has_a_source_words_for_the_owner_and_a_kind_with_service_minutes():
    kinds = {s.kind for s in load_services().services}
    for rule in load_rules().rules:
        assert rule.source, rule.id
        assert rule.owner_words, rule.id
        assert rule.by != "vet" or rule.kind in kinds, rule.id
        assert rule.earliest_days <= rule.due_days <= rule.latest_days, rule.id


def test_drug_classes_of_the_rules_are_those_of_the_formulary():
    drugs = load_drugs()
    for group in load_rules().drug_classes:
        assert set(group.drugs) == {d.id for d in drugs if group.name in d.classes}


def test_the_practice_changes_one_row_and_it_says_so():
    own = parse_table("own.toml", '[[rule]]\nid = "drain-out"\nwindow_days = [3, 4, 5]\n')
    rule = practice_rules(own).get("drain-out")
    assert (rule.earliest_days, rule.due_days, rule.latest_days) == (3, 4, 5)
    assert rule.source.startswith("set by the practice")
    assert "Manual of Equine Field Surgery" in rule.source
    assert len(practice_rules(own).rules) == len(load_rules().rules)


def test_the_practice_can_leave_a_rule_out():
    own = parse_table("own.toml", '[[rule]]\nid = "cast-report"\noff = true\n')
    assert practice_rules(own).get("cast-report") is None


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("window_days = [2, 3, 7]", "window_days = [3, 2, 7]", "drain-out, window_days"),
        ('anchor = "drain placed"', 'anchor = "the moon"', "drain-out, anchor"),
        ('group = ["head"]', 'group = ["wing"]', "sutures-out-head, when"),
        ('id = "drain-out"', 'id = "cast-off"', "cast-off, id"),
    ],
)
def test_a_fault_names_the_row_and_field(old, new, said):
    text = shipped_text("rules.toml")
    assert old in text
    with pytest.raises(KnowledgeError, match=said):
        read_rules(parse_table("rules.toml", text.replace(old, new, 1)))
