from __future__ import annotations

import socket
import ssl
import subprocess
import threading

import pytest

from fieldnotes.delivery import ServerSettings, send
from fieldnotes.domain.mail import Outcome

MESSAGE = b"Subject: Aftercare\r\n\r\nKeep the leg dry.\r\n.dot\r\n"
SENDER, TO = "vets@example.org", ("olive@example.org",)


@pytest.fixture(scope="module")
def certificate(tmp_path_factory):
    folder = tmp_path_factory.mktemp("tls")
    cert, key = folder / "cert.pem", folder / "key.pem"
    subprocess.run(
        ["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1",
         "-nodes", "-days", "2", "-subj", "/CN=localhost", "-addext",
         "subjectAltName=DNS:localhost", "-keyout", str(key), "-out", str(cert)],
        check=True, capture_output=True,
    )  # fmt: skip
    return cert, key


class FaultServer:
    """A loopback SMTP server of one conversation: replies as told, hangs up where told."""

    def __init__(self, certificate, *, tls=True, **replies):
        self.cert, self.key = certificate
        self.tls = tls
        self.replies = replies
        self.accepted: list[bytes] = []
        self.listener = socket.create_server(("127.0.0.1", 0))
        self.port = self.listener.getsockname()[1]
        threading.Thread(target=self._serve, daemon=True).start()

    def _serve(self):
        connection, _ = self.listener.accept()
        with connection:
            try:
                self._talk(connection)
            except (OSError, StopIteration):
                return

    def _talk(self, connection):
        file = connection.makefile("rwb")
        self._say(file, "greeting", "220 ready")
        while line := file.readline():
            verb = line.split()[0].decode().casefold().rstrip(":")
            if verb == "starttls":
                self._say(file, "starttls", "220 go")
                context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
                context.load_cert_chain(self.cert, self.key)
                connection = context.wrap_socket(connection, server_side=True)
                file = connection.makefile("rwb")
            elif verb == "ehlo":
                offered = "250-STARTTLS\r\n250 AUTH PLAIN" if self.tls else "250 AUTH PLAIN"
                self._say(file, "ehlo", f"250-localhost\r\n{offered}")
            elif verb == "data":
                self._say(file, "data", "354 go on")
                if "data" not in self.replies:
                    self._text(file)
            else:
                usual = {"auth": "235 in", "quit": "221 bye"}.get(verb, "250 ok")
                self._say(file, verb, usual)

    def _text(self, file):
        if self.replies.get("text") == "drop":
            raise StopIteration
        body = []
        while (line := file.readline()) not in {b".\r\n", b""}:
            body.append(line[1:] if line.startswith(b"..") else line)
        reply = self.replies.get("dot", "250 queued")
        if reply.startswith(("250", "lost")):
            self.accepted.append(b"".join(body))
        self._say(file, "dot", "250 queued")

    def _say(self, file, step, usual):
        reply = self.replies.get(step, usual)
        if reply in {"drop", "lost"}:
            raise StopIteration
        file.write(f"{reply}\r\n".encode())
        file.flush()


def attempt(server, certificate, *, trusted=True, before=lambda: None, user="vet"):
    context = ssl.create_default_context(cafile=str(certificate[0]) if trusted else None)
    settings = ServerSettings("localhost", server.port, user, timeout_s=5)
    return send(MESSAGE, SENDER, TO, settings, "secret", before_data=before, context=context)


def test_a_mail_reaches_the_server_byte_for_byte(certificate):
    server = FaultServer(certificate)
    moments = []
    result = attempt(server, certificate, before=lambda: moments.append(list(server.accepted)))
    assert result.outcome is Outcome.SENT
    assert server.accepted == [MESSAGE]
    assert moments == [[]]


@pytest.mark.parametrize(
    ("fault", "outcome", "copies"),
    [
        ({"greeting": "drop"}, Outcome.RETRY, 0),
        ({"starttls": "454 later"}, Outcome.RETRY, 0),
        ({"auth": "535 wrong password"}, Outcome.RETRY, 0),
        ({"mail": "451 later"}, Outcome.RETRY, 0),
        ({"rcpt": "550 nobody here"}, Outcome.REFUSED, 0),
        ({"data": "452 full"}, Outcome.RETRY, 0),
        ({"dot": "452 full"}, Outcome.RETRY, 0),
        ({"dot": "554 refused"}, Outcome.REFUSED, 0),
        ({"text": "drop"}, Outcome.UNCONFIRMED, 0),
        ({"dot": "lost"}, Outcome.UNCONFIRMED, 1),
    ],
)
def test_each_fault_has_its_outcome_and_none_doubles_or_loses_a_mail(
    certificate, fault, outcome, copies
):
    server = FaultServer(certificate, **fault)
    assert attempt(server, certificate).outcome is outcome
    assert len(server.accepted) == copies


def test_no_password_and_no_text_go_out_without_tls(certificate):
    # RFC 8314 section 3: cleartext submission is obsolete.
    server = FaultServer(certificate, tls=False)
    result = attempt(server, certificate)
    assert result.outcome is Outcome.REFUSED
    assert "TLS" in result.detail
    assert server.accepted == []


def test_a_certificate_nobody_vouches_for_is_refused(certificate):
    server = FaultServer(certificate)
    assert attempt(server, certificate, trusted=False).outcome is Outcome.REFUSED


def test_without_network_the_mail_is_tried_later(certificate):
    with socket.create_server(("127.0.0.1", 0)) as listener:
        port = listener.getsockname()[1]
    settings = ServerSettings("localhost", port, timeout_s=2)
    assert send(MESSAGE, SENDER, TO, settings).outcome is Outcome.RETRY
