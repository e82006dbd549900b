"""The rows of the command table for the store's passphrase and the covered screen."""

from __future__ import annotations

from fieldnotes.tui.command import Command

LOCK_COMMANDS = (
    Command("lock.now", "Cover", "cover the screen until the passphrase or PIN is typed",
            "ctrl+l", ("app",), "app.cover"),
    Command("upkeep.lock", "Passphrase", "encrypt the records; cover the screen when idle", "l",
            ("upkeep",), "lock"),
    Command("lock.on", "Turn on", "encrypt every record under a passphrase", "n", ("locking",),
            "turn_on", footer=True),
    Command("lock.words", "Passphrase", "another passphrase", "p", ("locking",), "passphrase",
            footer=True),
    Command("lock.recovery", "Recovery key", "another recovery key to print", "r", ("locking",),
            "recovery"),
    Command("lock.idle", "Idle", "after how many minutes the screen is covered", "i",
            ("locking",), "idle", footer=True),
    Command("lock.pin", "PIN", "a short number that uncovers the screen until the app is left",
            "k", ("locking",), "pin", footer=True),
    Command("lock.remember", "Keyring", "keep the key in this system's keyring, or no more", "g",
            ("locking",), "remember"),
    Command("lock.off", "Turn off", "decrypt every record", "X", ("locking",), "turn_off"),
    Command("lock.leave", "Back", "put the question away, then back to upkeep", "escape",
            ("locking",), "leave", footer=True),
)  # fmt: skip
