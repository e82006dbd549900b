"""Our text and markdown as libraries by others see them."""

from __future__ import annotations

import re

import mistune
import pytest
import textstat

from fieldnotes.rendering.markdown import escape, html_body
from fieldnotes.rendering.readability import grade
from tests.rendering.handouts import a_sheet, handout_markdown, tables
from tests.rendering.test_handout import HOSTILE


def filled(text):
    known = {"call": "38.6 °C", "urgent": "39.0 °C", "phone": "01632 960001", "ended": "2 June"}
    at = {f"{what}_at": "11:30" for what in ("feed", "turnout", "travel")}
    names = {"horse": "Bramble", "cover": "bandage", "hospital": "the hospital"}
    return re.sub(r"{(\w+)}", lambda m: (known | at | names)[m.group(1)], text)


def structure(html):
    return re.findall(r"</?(h[1-6]|p|ul|ol|li|table|thead|tbody|tr|th|td|strong|a)\b", html)


def test_another_commonmark_library_renders_a_handout_with_the_same_structure():
    markdown, _ = handout_markdown(a_sheet())
    theirs = str(mistune.create_markdown(plugins=["table"])(markdown))
    assert structure(theirs) == structure(html_body(markdown, {}))


@pytest.mark.parametrize("start", range(0, len(HOSTILE), 50))
def test_another_library_too_sees_only_text_in_hostile_names(start):
    render = mistune.create_markdown(plugins=["table", "strikethrough"])
    for name in HOSTILE[start : start + 50]:
        assert set(re.findall(r"</?([a-z0-9]+)", str(render(f"For {escape(name)}.")))) == {"p"}


def test_every_shipped_block_reads_at_grade_six_or_below():
    # Royal et al., reading level of veterinary brochures, 2018: grade 4 to 6 is advised.
    for block in tables().texts.blocks:
        assert grade(filled(block.text)).flesch_kincaid_grade <= 6.0, block.id


def test_grades_of_fifty_texts_lie_within_one_of_another_library():
    texts = [filled(b.text) for b in tables().texts.blocks if not re.search(r"[{\d]", b.text)]
    pages = [" ".join(texts[n : n + 15]) for n in range(50)]
    assert all(pages)
    apart = [abs(grade(p).flesch_kincaid_grade - textstat.flesch_kincaid_grade(p)) for p in pages]
    assert max(apart) <= 1.0
