"""Shared by all tests: no property fails because the machine was busy."""

from hypothesis import settings

settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")
