"""The terminal app: Textual only, no rules."""
