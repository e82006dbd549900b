"""The send key: progress, a password asked for, and what became of each letter."""

from __future__ import annotations

import asyncio

from conftest import NOW
from keys import Keys
from shots import screen_text

from fieldnotes.casework.desk import Casework
from fieldnotes.domain.mail import Attempt, MailServer, Outcome
from fieldnotes.storage.casebook import Casebook
from fieldnotes.storage.drafts import Drafts
from fieldnotes.storage.outbox import Outbox
from fieldnotes.tui.app import FieldnotesApp


class FakeCarrier:
    """Takes every letter, given the right password; keeps none."""

    def __init__(self):
        self.taken = []

    def hand_in(self, message, sender, recipients, server, *, password, before_data):
        before_data()
        if password != "let me in":  # noqa: S105  (invented for this test)
            return Attempt(Outcome.RETRY, "535 wrong password")
        self.taken.append(message)
        return Attempt(Outcome.SENT, "250 kept")

    def password(self, server):
        return None

    def keep(self, server, password):
        return False


def test_the_send_key_asks_for_the_password_and_says_what_went(store, monkeypatch):
    monkeypatch.setattr("fieldnotes.tui.app.FIRST", "outbox")
    carrier = FakeCarrier()
    desk = Casework(Casebook(store), lambda: NOW, mail=Outbox(store), carrier=carrier)
    real = FieldnotesApp(desk, Drafts(store / "drafts"))
    files = (desk.file(c.ref) for c in desk.find_cases(status="open"))
    ref = next(f.case.ref for f in files if f.owner and f.owner.email and not f.case.on_hold)
    desk.post.queue_handout(ref)

    async def script(keys):
        await keys.press("s")
        assert "none is set" in screen_text(real)
        desk.post.set_server(MailServer("mail.example.org", 465, "vets"))
        await keys.press("s")
        await keys.type("wrong")
        await keys.press("enter")
        assert "535 wrong password" in screen_text(real)
        await keys.press("s")
        await keys.type("let me in")
        await keys.press("enter")
        shown = screen_text(real)
        assert "1 sent" in shown
        assert "let me in" not in shown
        assert len(carrier.taken) == 1

    async def go():
        async with real.run_test(size=(80, 24)) as pilot:
            keys = Keys(real, pilot)
            await keys.settle()
            await script(keys)

    asyncio.run(go())
