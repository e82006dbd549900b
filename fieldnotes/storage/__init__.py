"""Entries on disk, the casebook over them, drafts, outbox and settings."""
