"""Hands a finished message to an SMTP server over verified TLS: the only network code."""

from __future__ import annotations

import smtplib
import ssl
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.domain.mail import IMPLICIT_TLS_PORT, Attempt, Outcome

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence


@dataclass(frozen=True)
class ServerSettings:
    """Where mail is handed in; port 465 is TLS from the start, any other needs STARTTLS."""

    host: str
    port: int = IMPLICIT_TLS_PORT
    user: str = ""
    timeout_s: float = 30.0


def _nothing() -> None:
    return


def send(
    message: bytes,
    sender: str,
    recipients: Sequence[str],
    settings: ServerSettings,
    password: str = "",
    *,
    before_data: Callable[[], object] = _nothing,
    context: ssl.SSLContext | None = None,
) -> Attempt:
    """Make one attempt; `before_data` is called right before the text leaves the machine.

    A connection lost after that is UNCONFIRMED unless the server had refused the text.
    """
    context = context or ssl.create_default_context()
    try:
        server = _connect(settings, context)
    except (OSError, smtplib.SMTPException) as error:
        return _failure(error)
    try:
        _log_in(server, settings, password)
        _envelope(server, sender, recipients)
        before_data()
    except (OSError, smtplib.SMTPException) as error:
        server.close()
        return _failure(error)
    return _data(server, message)


def _connect(settings: ServerSettings, context: ssl.SSLContext) -> smtplib.SMTP:
    host, port, timeout = settings.host, settings.port, settings.timeout_s
    if port == IMPLICIT_TLS_PORT:
        return smtplib.SMTP_SSL(host, port, timeout=timeout, context=context)
    server = smtplib.SMTP(host, port, timeout=timeout)
    try:
        server.starttls(context=context)  # raises where the server offers none: never in clear
    except (OSError, smtplib.SMTPException):
        server.close()
        raise
    return server


def _log_in(server: smtplib.SMTP, settings: ServerSettings, password: str) -> None:
    server.ehlo_or_helo_if_needed()
    if settings.user:
        server.login(settings.user, password)


def _envelope(server: smtplib.SMTP, sender: str, recipients: Sequence[str]) -> None:
    code, text = server.mail(sender)
    if code != 250:
        raise smtplib.SMTPSenderRefused(code, text, sender)
    for recipient in recipients:
        code, text = server.rcpt(recipient)
        # All or none: a half-delivered message could not be sent again without a double.
        if code not in {250, 251}:
            raise smtplib.SMTPResponseException(code, text)


def _data(server: smtplib.SMTP, message: bytes) -> Attempt:
    try:
        code, text = server.data(message)
    except smtplib.SMTPDataError as error:  # the server said no before the text was sent
        server.close()
        return _failure(error)
    except (OSError, smtplib.SMTPException) as error:
        server.close()
        return Attempt(Outcome.UNCONFIRMED, f"connection lost while handing over: {error}")
    server.close()
    if code == 250:
        return Attempt(Outcome.SENT, text.decode(errors="replace"))
    return _failure(smtplib.SMTPResponseException(code, text))


def _failure(error: OSError) -> Attempt:
    if isinstance(error, smtplib.SMTPResponseException):
        said = error.smtp_error
        text = said.decode(errors="replace") if isinstance(said, bytes) else str(said)
        # A wrong password says nothing about the mail: it stays in the queue.
        wrong_password = isinstance(error, smtplib.SMTPAuthenticationError)
        refused = error.smtp_code >= 500 and not wrong_password
        detail = f"{error.smtp_code} {text}"
        return Attempt(Outcome.REFUSED if refused else Outcome.RETRY, detail)
    if isinstance(error, (ssl.SSLCertVerificationError, smtplib.SMTPNotSupportedError)):
        return Attempt(Outcome.REFUSED, f"no verified TLS: {error}")
    return Attempt(Outcome.RETRY, str(error) or type(error).__name__)
