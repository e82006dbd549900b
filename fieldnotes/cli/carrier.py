"""Joins the desk's mail with the network and the system's keyring."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.cli.keychain import keep, kept

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from ssl import SSLContext

    from fieldnotes.domain.mail import Attempt, MailServer

SERVICE = "fieldnotes mail"


class MailCarrier:
    """Hands mail in over verified TLS; passwords lie in the keyring or are asked for."""

    def __init__(self, context: SSLContext | None = None, timeout_s: float = 30.0) -> None:
        self._context = context
        self._timeout_s = timeout_s

    def hand_in(
        self,
        message: bytes,
        sender: str,
        recipients: Sequence[str],
        server: MailServer,
        *,
        password: str,
        before_data: Callable[[], object],
    ) -> Attempt:
        """Make one attempt; `before_data` is called right before the text leaves the machine."""
        from fieldnotes.delivery import ServerSettings, send  # noqa: PLC0415  (few commands send)

        settings = ServerSettings(server.host, server.port, server.user, self._timeout_s)
        return send(
            message, sender, recipients, settings, password,
            before_data=before_data, context=self._context,
        )  # fmt: skip

    def password(self, server: MailServer) -> str | None:
        """Give the password the keyring keeps, None if there is none or no keyring."""
        return kept(SERVICE, _account(server))

    def keep(self, server: MailServer, password: str) -> bool:
        """Keep a password in the keyring; False where there is none that can."""
        return keep(SERVICE, _account(server), password)


def _account(server: MailServer) -> str:
    return f"{server.user}@{server.host}:{server.port}"
