"""The passphrase in the app: set by keys, asked before anything shows, covering the screen."""

from __future__ import annotations

import asyncio
import shutil

import pytest
from keys import Keys
from shots import screen_text

from fieldnotes.cli.app import let_in_on_screen
from fieldnotes.cli.locking import StoreLocking
from fieldnotes.cli.seat import Seat
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.storage import age, pin, vault
from fieldnotes.storage.age import AgeFile
from fieldnotes.storage.backup import contents
from fieldnotes.storage.casebook import Casebook
from fieldnotes.storage.cipher import _HELD, PassphraseNeededError
from fieldnotes.storage.encrypting import turn_on
from fieldnotes.storage.recovery_key import new_recovery_key
from fieldnotes.tui import cover
from fieldnotes.tui.app import FieldnotesApp
from fieldnotes.tui.unlock import UnlockApp
from tests.builders import a_horse
from tests.storage.conftest import NOW, sound  # noqa: F401  (a fixture)

WORDS = "plum saddle quiet rain"


@pytest.fixture(autouse=True)
def cheap(monkeypatch):
    monkeypatch.setattr(vault, "STANDARD", vault.Cost(32, 1, 4))
    monkeypatch.setattr(pin, "STANDARD", vault.Cost(32, 1, 4))
    monkeypatch.setattr("fieldnotes.tui.app.FIRST", "cases")


@pytest.fixture
def small_store(sound, tmp_path):  # noqa: F811
    return shutil.copytree(sound, tmp_path / "store")


def sit(store, steps):
    """Open the app at a seat and do what `steps` does with the keys."""

    async def go():
        seat = Seat(lambda: NOW)
        app = FieldnotesApp(*seat.take(store), None, seat)
        async with app.run_test(size=(80, 24)) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await steps(keys)
            await keys.settle()
        seat.leave()

    asyncio.run(go())


async def answer(keys, *texts):
    for text in texts:
        await keys.free_text(text)
        await keys.press("enter")


def test_a_passphrase_is_set_by_keys_and_covers_the_screen_until_it_is_typed(small_store):
    async def steps(keys):
        await keys.press("U", "l", "n")
        await answer(keys, WORDS, WORDS + "x")
        assert "not the same" in screen_text(keys.app)
        await keys.press("n")
        await answer(keys, WORDS, WORDS)
        [recovery] = [w for w in screen_text(keys.app).split() if w.count("-") == 7]
        await answer(keys, recovery[-5:].lower())
        assert "every record is encrypted" in screen_text(keys.app)
        await keys.press("k")
        await answer(keys, "2468")
        await keys.press("escape", "2", "t")
        await keys.free_text("half a note")
        await keys.press("ctrl+l")
        shown = screen_text(keys.app)
        assert "Covered" in shown
        assert a_horse().name not in shown
        assert "half a note" not in shown
        await keys.press("2")
        await answer(keys, "1357")
        assert "4 tries left" in screen_text(keys.app)
        await answer(keys, "2468")
        assert "half a note" in screen_text(keys.app)
        await keys.pilot.press("ctrl+s", "ctrl+l")  # covered before the save is through
        await keys.settle()
        assert "Covered" in screen_text(keys.app)
        await answer(keys, WORDS)
        assert "saved" in screen_text(keys.app)

    sit(small_store, steps)
    _HELD.clear()
    with pytest.raises(PassphraseNeededError):
        Casebook(small_store)
    files = [p for p in small_store.rglob("*") if p.is_file()]
    assert not [p for p in files if a_horse().name.encode() in p.read_bytes()]


def test_idle_minutes_cover_the_screen_and_none_does_not(small_store, monkeypatch):
    turn_on(Casebook(small_store), WORDS, new_recovery_key())
    now = 1000.0
    monkeypatch.setattr(cover, "monotonic", lambda: now)

    async def steps(keys):
        nonlocal now
        now += 3600
        keys.app.cover.if_idle()
        assert "Covered" not in screen_text(keys.app)
        assert keys.app.upkeep.locking.set_idle("5") == 5
        await keys.press("down")
        now += 299
        keys.app.cover.if_idle()
        await keys.settle()
        assert "Covered" not in screen_text(keys.app)
        now += 1
        keys.app.cover.if_idle()
        await keys.settle()
        assert "Covered" in screen_text(keys.app)

    sit(small_store, steps)


def test_a_locked_store_asks_on_a_screen_of_its_own_before_it_is_opened(small_store):
    turn_on(Casebook(small_store), WORDS, new_recovery_key())
    _HELD.clear()

    async def go():
        app = UnlockApp(lambda secret: vault.open_vault(small_store, secret))
        async with app.run_test(size=(80, 24)) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await answer(keys, "plum saddle quiet rein")
            assert "that is not it" in screen_text(app)
            with pytest.raises(PassphraseNeededError):
                Casebook(small_store)
            await answer(keys, WORDS)
        return app.return_value

    assert asyncio.run(go())
    assert let_in_on_screen(small_store)


def test_a_backup_whose_name_ends_in_age_asks_for_a_passphrase_of_its_own(
    small_store, tmp_path, monkeypatch
):
    writer = age.AgeWriter.__init__
    monkeypatch.setattr(age.AgeWriter, "__init__", lambda s, f, p: writer(s, f, p, 4))

    async def steps(keys):
        await keys.press("U", "b")
        await answer(keys, str(tmp_path / "out.zip.age"), WORDS)
        assert WORDS not in screen_text(keys.app)
        await answer(keys, WORDS)
        assert "read back and verified" in screen_text(keys.app)

    sit(small_store, steps)
    assert any(
        name == "store.json" for name, _ in contents(AgeFile(tmp_path / "out.zip.age", WORDS))
    )


def test_five_wrong_pins_leave_only_the_passphrase(small_store):
    turn_on(Casebook(small_store), WORDS, new_recovery_key())
    locking = StoreLocking(lambda: Casebook(small_store))
    locking.set_pin("2468")
    locking.check("2468")
    for left in (4, 3, 2, 1):
        with pytest.raises(RefusedInputError, match=f"{left} tries left"):
            locking.check("1111")
    with pytest.raises(RefusedInputError, match="wrong too often"):
        locking.check("1111")
    with pytest.raises(RefusedInputError):
        locking.check("2468")
    locking.check(WORDS)
    for bad in ("123", "123456789", "12a4"):
        with pytest.raises(RefusedInputError, match="4 to 8"):
            locking.set_pin(bad)
    with pytest.raises(RefusedInputError):
        locking.set_idle("500")
