"""Eighty hostile texts on every screen that shows record text: shown as text, nothing obeyed.

`.ci/check` runs it: a minute or two.
"""

from __future__ import annotations

import asyncio
import unicodedata
from dataclasses import replace

import pytest
from conftest import NOW
from keys import Keys
from shots import screen_text

from fieldnotes.casework.desk import Casework
from fieldnotes.domain.entries import Note, OwnerReport
from fieldnotes.domain.text import clean_line
from fieldnotes.storage.casebook import Casebook, create_store
from fieldnotes.storage.drafts import Drafts
from fieldnotes.storage.outbox import Outbox
from fieldnotes.tui.app import FieldnotesApp
from tests.builders import an_opening
from tests.hostile import HOSTILE
from tests.test_hostile_text import STEERING, records, visit

EACH = 10
GROUPS = [HOSTILE[i : i + EACH] for i in range(0, len(HOSTILE), EACH)]
PLACES = (*tuple("1234567890"), "U")
IN_CASE = (("p",), ("l",), ("w",), ("m",), ("g",), ("h",), ("d",), ("i",), ("v",), ("F",))
MOST_SHOWN = 20  # characters of a text looked for on a screen; the rest may be cut


def test_the_corpus_has_eighty_texts():
    assert len(set(HOSTILE)) == 80


@pytest.fixture
def hostile_app(tmp_path):
    def make(texts) -> FieldnotesApp:
        create_store(tmp_path / "store")
        store = tmp_path / "store"
        desk = Casework(Casebook(store), lambda: NOW, mail=Outbox(store))
        horse, owner, place, mechanism, history, note, said, spoken, decided, wrote = texts
        for body in records(horse, owner, place):
            desk.save(body)
        opening = replace(an_opening(), injured_at=NOW, mechanism=mechanism, history=history)
        seen = replace(visit(note, said, spoken), at=NOW)
        ref = desk.open_case(opening, seen).ref
        desk.record(ref, OwnerReport(NOW, "phone", spoken, decision=decided))
        desk.record(ref, Note(wrote))
        return FieldnotesApp(desk, Drafts(store / "drafts"))

    return make


def steered(text: str) -> set[str]:
    controls = {c for c in text if unicodedata.category(c) in {"Cc", "Cs"}} - {"\n"}
    return controls | (set(text) & STEERING)


def seen_in(app) -> list[str]:
    """Press the keys of every place and of the case, and give what each screen shows."""
    shown: list[str] = []

    async def go():
        async with app.run_test(size=(120, 40)) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            for place in PLACES:
                await keys.press(place)
                shown.append(screen_text(app))
            await keys.press("2", "enter")
            shown.append(screen_text(app))
            for steps in IN_CASE:
                await keys.press(*steps)
                shown.append(screen_text(app))
                await keys.press("escape")

    asyncio.run(go())
    return shown


def check(texts, hostile_app) -> None:
    shown = seen_in(hostile_app(texts))
    for screen in shown:
        assert steered(screen) == set()
    together = " ".join(" ".join(shown).split())
    for text in texts[:3]:  # horse, owner and place are on the lists
        wanted = " ".join(clean_line(text).split())[:MOST_SHOWN].strip()
        assert wanted[:8] in together, (wanted, "is not shown as typed")


@pytest.mark.long
@pytest.mark.corpus
@pytest.mark.parametrize("texts", GROUPS, ids=lambda g: str(HOSTILE.index(g[0])))
def test_every_hostile_text_on_every_screen(texts, hostile_app):
    check(texts, hostile_app)
