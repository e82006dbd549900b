"""The system's own keyring, where there is one."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable
    from types import ModuleType


def _ask(call: Callable[[ModuleType], str | None]) -> tuple[bool, str | None]:
    """Ask the keyring; False where there is none that can."""
    try:
        import keyring  # noqa: PLC0415  (an extra)
        from keyring.errors import KeyringError  # noqa: PLC0415
    except ImportError:
        return False, None
    try:
        return True, call(keyring)
    except KeyringError:
        return False, None


def kept(service: str, account: str) -> str | None:
    """Give the secret the keyring keeps, None if there is none or no keyring."""
    return _ask(lambda k: k.get_password(service, account))[1]


def keep(service: str, account: str, secret: str) -> bool:
    """Keep a secret in the keyring; False where there is none that can."""
    return _ask(lambda k: k.set_password(service, account, secret))[0]


def drop(service: str, account: str) -> bool:
    """Forget a secret; False where there was none."""
    return _ask(lambda k: k.delete_password(service, account))[0]
