"""Sending a mail through the shop's server: whole and confirmed, or not sent.

Every recipient must be taken before the message is handed over, and only the
server's own word after the last line (250, RFC 5321) counts as accepted.
Where that word never came, nobody knows, and the mail counts as not sent.
"""

from __future__ import annotations

import contextlib
import os
import smtplib
import socket
import ssl
from collections.abc import Sequence

from msgspec import Struct

from ...records.files.shop import Mail

PASSWORD = "REBUILDREPORT_SMTP_PASSWORD"
TIMEOUT = 60.0  # seconds without a word from the server
PORTS = {"starttls": 587, "tls": 465, "none": 25}


class NotSent(Exception):
    """Nothing was accepted.  ``fault`` of the files (an address, a size), or of the line and the server."""

    def __init__(self, message: str, fault: str = "server") -> None:
        super().__init__(message)
        self.fault = fault


class Accepted(Struct, frozen=True):
    """The server's word that it has taken a message."""

    reply: str


def send(settings: Mail, sender: str, to: Sequence[str], data: bytes) -> Accepted:
    """Hand one message to the shop's server; NotSent where it was not accepted for every recipient."""
    if not settings.server:
        raise NotSent(
            "shop.yaml names no mail server: write 'server:' under 'mail:', or send the draft", "files"
        )
    password = os.environ.get(PASSWORD)
    if settings.user and not password:
        raise NotSent(
            f"the password of {settings.user} is not set: put it into the environment as {PASSWORD}"
        )
    if settings.largest is not None and len(data) > settings.largest * 1_000_000:
        raise NotSent(_too_large(len(data), settings.largest * 1_000_000), "files")
    step = "reached"
    try:
        server = _connected(settings)
        try:
            step = "logged in to"
            if settings.user and password:
                server.login(settings.user, password)
            step = "given the message"
            accepted = _hand_over(server, sender, to, data)
            _part(server)
            return accepted
        finally:
            server.close()
    except smtplib.SMTPAuthenticationError as problem:
        raise NotSent(
            f"{settings.server} does not take the password of {settings.user}: {_said(problem)}"
        ) from None
    except smtplib.SMTPNotSupportedError as problem:
        raise NotSent(f"{settings.server} cannot be {step}: {problem}") from None
    except smtplib.SMTPServerDisconnected:
        raise NotSent(
            f"{settings.server} broke off before it could be {step}: nothing was accepted"
        ) from None
    except smtplib.SMTPResponseException as problem:
        raise NotSent(f"{settings.server} could not be {step}: {_said(problem)}") from None
    except ssl.SSLError as problem:
        why = getattr(problem, "verify_message", "") or problem.reason or str(problem)
        raise NotSent(f"{settings.server} cannot be trusted: {why}; nothing was sent") from None
    except (OSError, smtplib.SMTPException) as problem:
        raise NotSent(f"{settings.server} cannot be {step}: {problem}") from None


def _connected(settings: Mail) -> smtplib.SMTP:
    """A connection that nobody else can read, before any name or password is said."""
    host = settings.server
    port = settings.port or PORTS[settings.security]
    context = ssl.create_default_context()
    if settings.security == "tls":
        server: smtplib.SMTP = smtplib.SMTP_SSL(host, port, timeout=TIMEOUT, context=context)
    else:
        server = smtplib.SMTP(host, port, timeout=TIMEOUT)
    try:
        server.ehlo_or_helo_if_needed()
        if settings.security == "starttls":
            if not server.has_extn("starttls"):
                raise NotSent(f"{host} offers no protection (STARTTLS): nothing was said to it, nothing sent")
            server.starttls(context=context)
            server.ehlo()
    except BaseException:
        server.close()
        raise
    return server


def _part(server: smtplib.SMTP) -> None:
    """Say goodbye; a server that breaks off meanwhile takes nothing back of what it has accepted."""
    with contextlib.suppress(OSError, smtplib.SMTPException):
        server.quit()


def _hand_over(server: smtplib.SMTP, sender: str, to: Sequence[str], data: bytes) -> Accepted:
    size = server.esmtp_features.get("size", "")
    if size.isdigit() and 0 < int(size) < len(data):
        raise NotSent(_too_large(len(data), int(size)), "files")
    options = [f"size={len(data)}"] if server.has_extn("size") else []
    code, reply = server.mail(sender, options)
    if code != 250:
        raise NotSent(f"the server does not take mail from {sender}: {_text(code, reply)}", _fault(code))
    for one in to:
        code, reply = server.rcpt(one)
        if code not in (250, 251):
            server.rset()
            raise NotSent(f"the server does not take mail for {one}: {_text(code, reply)}", _fault(code))
    try:
        code, reply = server.data(data)
    except (smtplib.SMTPServerDisconnected, TimeoutError, ConnectionError, socket.timeout):  # noqa: UP041
        raise NotSent(
            "the connection was lost before the server had confirmed: it may have arrived or not, "
            "and counts as not sent"
        ) from None
    except smtplib.SMTPDataError as problem:
        raise NotSent(
            f"the server does not take this mail: {_said(problem)}", _fault(problem.smtp_code)
        ) from None
    if code != 250:
        raise NotSent(f"the server does not take this mail: {_text(code, reply)}", _fault(code))
    return Accepted(_text(code, reply))


def _fault(code: int) -> str:
    # 4xx: try again later; 5xx: it will be refused again as it is (RFC 5321, 4.2.1)
    return "files" if 500 <= code < 600 else "server"


def _too_large(size: int, most: int) -> str:
    return f"the mail is too large: {size / 1e6:.1f} MB, and the server takes {most / 1e6:.1f} MB"


def _said(problem: smtplib.SMTPResponseException) -> str:
    error = problem.smtp_error
    return _text(problem.smtp_code, error if isinstance(error, bytes) else str(error).encode())


def _text(code: int, reply: bytes) -> str:
    words = " ".join(reply.decode("utf-8", "replace").split())
    return f"{code} {''.join(c for c in words if c.isprintable())}".strip()[:300]
