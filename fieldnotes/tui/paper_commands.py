"""The rows of the command table for papers and the outbox."""

from __future__ import annotations

from fieldnotes.tui.command import Command

PREVIEWS = ("handout", "paper", "daysheet")

PAPER_COMMANDS = (
    # outbox
    Command("outbox.send", "Send", "hand what waits to the mail server", "s", ("outbox",), "send",
            footer=True),
    Command("outbox.stop", "Stop sending", "after the letter that is going out now", "x",
            ("outbox",), "stop", footer=True),
    Command("outbox.again", "Send again", "queue a failed or unconfirmed letter again", "a",
            ("outbox",), "decide('queued')", footer=True),
    Command("outbox.arrived", "It arrived", "call an unconfirmed letter sent", "k", ("outbox",),
            "decide('sent')"),
    Command("outbox.withdraw", "Take out dates", "queue a letter that empties the owner's calendar",
            "W", ("outbox",), "withdraw"),
    Command("outbox.server", "Mail server", "name, port, user and sender", "m", ("outbox",),
            "form('mail_server')", footer=True),
    # papers
    Command("papers.open", "Read", "show the paper as it will be read", "enter", ("papers",),
            "open", footer=True),
    Command("handout.queue", "Put in outbox", "queue it for its reader; nothing is sent", "o",
            ("handout", "paper"), "queue", footer=True),
    Command("handout.words", "Own words", "write what stands on this handout alone", "e",
            ("handout",), "form('wording')", footer=True),
    Command("handout.contact", "Contact", "the owner's phone, email and address", "c",
            ("handout",), "form('contact')"),
    Command("handout.weight", "Weight", "add a body weight of the horse", "w", ("handout",),
            "form('weight')"),
    Command("handout.save", "Save to file", "write what is shown to a new file", "s", PREVIEWS,
            "save", footer=True),
    Command("handout.format", "Other format", "plain text, web page, PDF, message", "f", PREVIEWS,
            "format", footer=True),
    Command("handout.back", "Back", "back to where it was opened", "escape",
            (*PREVIEWS, "papers"), "back", footer=True),
)  # fmt: skip
