"""Puts this folder on the path, so that every room's tests share `builders` and `fakes`.

No property test fails because the machine was busy.
"""

from hypothesis import settings

settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")
