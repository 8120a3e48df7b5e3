"""Mail of issued documents, against a real SMTP server on loopback: what was not accepted is not marked."""

from __future__ import annotations

import contextlib
import email
import json
import re
import shutil
import socket
import ssl
import subprocess
import threading
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from email.message import EmailMessage
from email.policy import default
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from msgspec.structs import replace

from rebuildreport.commands.main import run
from rebuildreport.documents.press import pdf
from rebuildreport.documents.press.language import language
from rebuildreport.documents.press.standing_texts import rendered
from rebuildreport.documents.sheets import letter
from rebuildreport.records import load_shop
from rebuildreport.site.sending import issuing, posting

from .conftest import FOUR, as_begun, edit, unissued

aiosmtpd = pytest.importorskip("aiosmtpd.smtp")
OWNER = "thistlewick@example.invalid"
DOCUMENT = b"%PDF-1.7 " + bytes(range(256)) * 40


class Box:
    """What a server takes; ``refuse``: its answer to DATA, ``nobody``: a recipient that it does not know."""

    def __init__(self, refuse: str = "", nobody: str = "") -> None:
        self.taken: list[Any] = []
        self.refuse, self.nobody = refuse, nobody

    async def handle_RCPT(self, server: Any, session: Any, envelope: Any, to: str, options: Any) -> str:
        if to == self.nobody:
            return "550 5.1.1 no such mailbox"
        envelope.rcpt_tos.append(to)
        return "250 OK"

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:
        if self.refuse:
            return self.refuse
        self.taken.append(envelope)
        return "250 2.0.0 queued as 7F"


@contextlib.contextmanager
def server(box: Box, **more: Any) -> Iterator[int]:
    from aiosmtpd.controller import Controller

    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    controller = Controller(box, hostname="127.0.0.1", port=port, **more)
    controller.start()
    try:
        yield port
    finally:
        controller.stop()


@pytest.fixture(scope="module")
def issued_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    shop = as_begun(unissued(tmp_path_factory.mktemp("issued") / "shop"))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(issuing, "made", lambda *rest: DOCUMENT)
        patch.setattr(pdf, "available", lambda: True)
        assert issuing.issue(shop, FOUR, "report", date(2026, 4, 20)).exit_status == 0
    settings(shop, 25)
    return shop


@pytest.fixture
def issued(issued_once: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """The twin cam with one issue, and a shop that has mail."""
    monkeypatch.setattr(issuing, "made", lambda *rest: DOCUMENT)
    monkeypatch.setattr(pdf, "available", lambda: True)
    monkeypatch.chdir(tmp_path)
    return Path(shutil.copytree(issued_once, tmp_path / "shop"))


def settings(shop: Path, port: int, security: str = "none", more: str = "") -> None:
    path = shop / "shop.yaml"
    text = path.read_text("utf-8").partition("\nmail:\n")[0]
    text += (
        "\nmail:\n  sender: Old Mill Engine Works <desk@example.invalid>\n  server: localhost\n"
        f"  port: {port}\n  security: {security}\n{more}"
    )
    path.write_text(text, "utf-8")


def sent(shop: Path) -> list[dict[str, Any]]:
    text = (shop / FOUR / "issued/register.jsonl").read_text("utf-8")
    return [one for one in map(json.loads, text.splitlines()) if "sent" in one]


def send(shop: Path, *more: str) -> int:
    return run(["mail", FOUR, "--shop", str(shop), "--send", *more])


# ------------------------------------------------------------------------------- the draft


def draft(shop: Path, tmp_path: Path, *more: str) -> bytes:
    path = tmp_path / "draft.eml"
    assert run(["mail", FOUR, "--shop", str(shop), "--out", str(path), *more]) == 0
    return path.read_bytes()


def test_a_draft_is_read_by_the_standard_library(issued: Path, tmp_path: Path) -> None:
    data = draft(issued, tmp_path)
    mail = email.message_from_bytes(data, policy=default)
    assert isinstance(mail, EmailMessage)
    assert not mail.defects and all(not part.defects for part in mail.walk())
    assert mail["From"].addresses[0].addr_spec == "desk@example.invalid"
    assert [one.addr_spec for one in mail["To"].addresses] == [OWNER]
    assert mail["Subject"] == (
        "Report, issue 1, on your engine: Twin-cam four, burnt exhaust valve and timing rattle"
    )
    text, page = mail.get_body(("plain",)), mail.get_body(("html",))
    assert text is not None and page is not None
    assert "Good day Barnaby Thistlewick," in text.get_content()
    assert "<p>Good day Barnaby Thistlewick,</p>" in page.get_content()
    assert not re.search(r"\.[:,;.]", text.get_content())  # no stop of ours before another sign
    (document,) = mail.iter_attachments()
    assert document.get_content() == DOCUMENT and document.get_content_type() == "application/pdf"
    # RFC 5322: lines of at most 998 letters, ended by CR LF
    lines = data.split(b"\r\n")
    assert b"\n" not in b"".join(lines) and max(map(len, lines)) <= 998
    assert draft(issued, tmp_path) == data


def test_a_draft_is_read_by_an_independent_parser(issued: Path, tmp_path: Path) -> None:
    """fast-mail-parser rests on the Rust library mailparse, and on nothing of Python's."""
    parser = pytest.importorskip("fast_mail_parser")
    mail = parser.parse_email(draft(issued, tmp_path))
    assert (
        mail.subject
        == "Report, issue 1, on your engine: Twin-cam four, burnt exhaust valve and timing rattle"
    )
    assert "Barnaby Thistlewick" in mail.text_plain[0] and "<p>" in mail.text_html[0]
    (document,) = mail.attachments
    assert bytes(document.content) == DOCUMENT and document.mimetype == "application/pdf"
    assert document.filename == f"{FOUR}-1-report.pdf"


def test_what_needs_an_answer_stands_in_it(issued: Path, tmp_path: Path) -> None:
    edit(issued / FOUR / "job.yaml", "opened:", "language: en\nopened:")
    (issued / FOUR / "work.yaml").write_text(
        "needs_from_customer:\n  - Your word on <b>piston</b> 4.\n"
        "labour:\n  - task: measure\n    hours: 10.0\n",
        "utf-8",
    )
    issuing.issue(issued, FOUR, "report", date(2026, 4, 21))
    mail = email.message_from_bytes(draft(issued, tmp_path), policy=default)
    assert isinstance(mail, EmailMessage)
    text, page = mail.get_body(("plain",)), mail.get_body(("html",))
    assert text is not None and page is not None
    said = " ".join(text.get_content().split())
    assert "What we need from you: - Your approval, and up to which amount" in said  # as in the report
    assert " - Your word on" in said and "What changed since the last issue: -" in said
    # finding F3 replaces pistons, and with the decisions gone no line buys any
    assert re.search(r"The work comes to at least \d+\.\d\d\sEUR so far\.", said)
    assert "<b>" not in page.get_content() and "&lt;b&gt;" in page.get_content()


def test_the_question_comes_first_and_other_documents_go_along(issued: Path, tmp_path: Path) -> None:
    """Greeting, then what is asked and the sum; three changes at most; what shop.yaml wants is attached."""
    edit(issued / "shop.yaml", "  server: localhost", "  enclose: estimate\n  server: localhost")
    labour = "".join(f"  - task: extra {n}\n    hours: {n}.0\n" for n in range(1, 6))
    (issued / FOUR / "work.yaml").write_text(f"labour:\n{labour}", "utf-8")
    assert run(["mail", FOUR, "--shop", str(issued)]) == 1  # nothing of the kind is issued yet
    issuing.issue(issued, FOUR, "estimate", date(2026, 4, 21))
    issuing.issue(issued, FOUR, "report", date(2026, 4, 21))
    mail = email.message_from_bytes(draft(issued, tmp_path), policy=default)
    assert isinstance(mail, EmailMessage)
    names = [part.get_filename() for part in mail.iter_attachments()]
    assert names == [f"{FOUR}-3-report.pdf", f"{FOUR}-2-estimate.pdf"]
    body = mail.get_body(("plain",))
    assert body is not None
    paragraphs = body.get_content().strip().replace("\r", "").split("\n\n")
    assert paragraphs[1] == "What we need from you:"
    assert all(text[0].isupper() or text[0] == "-" for text in paragraphs), paragraphs


def test_a_long_log_of_changes_is_cut(issued: Path) -> None:
    one = load_shop(issued, [FOUR]).jobs[FOUR].issued.last()
    assert one is not None
    sent = letter.Enclosed(
        replace(one, changed=("a list " + "of many things " * 12, *(f"change {n}" for n in range(24)))),
        DOCUMENT,
    )
    envelope = letter.Envelope(letter.address("desk@example.invalid"), (letter.address(OWNER),))
    heads = dict.fromkeys(("job", "name", "engine", "shop", "address", "contact", "link"), "")
    body = letter.message(sent, envelope, {}, language("en"), heads).get_body(("plain",))
    assert body is not None
    said = body.get_content()
    assert "- change 2" in said and "change 3" not in said and "- 22 more, in the document" in said
    assert "many things" not in said, "a list is left to the document"
    alone = replace(sent, issue=replace(sent.issue, changed=sent.issue.changed[:1]))
    body = letter.message(alone, envelope, {}, language("en"), heads).get_body(("plain",))
    assert body is not None and "stands in the document." in body.get_content()
    assert "more, in the document" not in body.get_content(), "nothing stands before it"


@pytest.mark.parametrize(
    ("said", "words"),
    [({}, "The work comes to 10.00 EUR."), ({"paid": True}, "The work came to 10.00 EUR, and all is paid.")],
)
def test_what_is_paid_is_told_as_paid(issued: Path, said: dict[str, bool], words: str) -> None:
    one = load_shop(issued, [FOUR]).jobs[FOUR].issued.last()
    assert one is not None
    sent = letter.Enclosed(replace(one, total=Decimal(10), minimum=False), DOCUMENT)
    envelope = letter.Envelope(letter.address("desk@example.invalid"), (letter.address(OWNER),))
    heads = dict.fromkeys(("job", "name", "engine", "shop", "address", "contact", "link"), "")
    basis = {"said": said, "currency": "EUR"}
    body = letter.message(sent, envelope, basis, language("en"), heads).get_body(("plain",))
    assert body is not None and words in body.get_content().replace("\u00a0", " ")


def test_the_second_language(issued: Path, tmp_path: Path) -> None:
    edit(issued / FOUR / "job.yaml", "opened:", "language: de\nopened:")
    edit(issued / FOUR / "job.yaml", "Misfire", "Bad misfire")
    issuing.issue(issued, FOUR, "report", date(2026, 4, 21))
    mail = email.message_from_bytes(draft(issued, tmp_path), policy=default)
    assert isinstance(mail, EmailMessage)
    assert str(mail["Subject"]).startswith("Bericht, Ausgabe 2, zu Ihrem Motor:")
    body = mail.get_body(("plain",))
    assert body is not None
    said = body.get_content().replace("\u00a0", " ")
    assert "vom 21. April 2026" in said and "Geändert seit der letzten Ausgabe:" in said
    assert "- Ebenfalls geändert: die Beanstandung; die Sprache." in said
    assert "The work" not in said


def test_the_shops_own_words_and_a_word_that_there_is_not(
    issued: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    texts = issued / "templates" / "texts"
    texts.mkdir(parents=True)
    (texts / "mail.en.md").write_text("Hello {name}.\n\n{needs}\n", "utf-8")
    mail = email.message_from_bytes(draft(issued, tmp_path), policy=default)
    assert isinstance(mail, EmailMessage)
    body = mail.get_body(("plain",))
    assert body is not None and body.get_content().startswith("Hello Barnaby Thistlewick.")
    (texts / "mail.en.md").write_text("Hello {nmae}.\n", "utf-8")
    capsys.readouterr()
    assert run(["mail", FOUR, "--shop", str(issued)]) == 1
    assert "mail.en.md: there is no {nmae}" in capsys.readouterr().err


@pytest.mark.parametrize(
    "text",
    [
        "nobody",
        "a@b@c",
        "a b@example.invalid\nBcc: x@y.z",
        "Name <a..b@example.invalid>",
        "a@example.invalid\r\n",
    ],
)
def test_what_is_no_address(text: str) -> None:
    with pytest.raises(letter.LetterProblem):
        letter.address(text)


def test_without_address_issue_or_sender(issued: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["mail", FOUR, "--shop", str(issued), "--issue", "7"]) == 2
    edit(issued / FOUR / "job.yaml", OWNER, "telephone only")
    assert run(["mail", FOUR, "--shop", str(issued)]) == 1
    assert "--to" in capsys.readouterr().err
    edit(issued / "shop.yaml", "\nmail:\n", "\nmial:\n")
    assert run(["mail", FOUR, "--shop", str(issued)]) == 1


def test_html_stays_out_of_standing_texts() -> None:
    page = rendered("<script>x</script> [go](javascript:x) ![p](https://example.invalid/p.png)\n")
    assert "<script" not in page and "<img" not in page and 'href="javascript' not in page


# ------------------------------------------------------------------------------- sending


def test_accepted_is_noted_once_and_not_sent_twice(issued: Path, capsys: pytest.CaptureFixture[str]) -> None:
    box = Box()
    with server(box) as port:
        settings(issued, port, more="  copy_to: archive@example.invalid\n")
        assert send(issued) == 0
        (line,) = sent(issued)
        assert (line["sent"], line["to"]) == (1, [OWNER]) and "queued as 7F" in line["accepted"]
        assert send(issued) == 1
        assert "--again" in capsys.readouterr().err and len(box.taken) == 1
        assert send(issued, "--again") == 0
        assert send(issued, "--to", "wife@example.invalid") == 0
    assert len(sent(issued)) == len(box.taken) == 3
    (first, *_) = box.taken
    assert first.mail_from == "desk@example.invalid" and first.rcpt_tos == [OWNER, "archive@example.invalid"]
    mail = email.message_from_bytes(first.content, policy=default)
    assert isinstance(mail, EmailMessage)
    assert "archive" not in str(mail["To"]) and mail["Bcc"] is None and mail["X-Unsent"] is None
    assert next(mail.iter_attachments()).get_content() == DOCUMENT
    assert not load_shop(issued).jobs[FOUR].problems or all(
        one.severity == "warning" for one in load_shop(issued).jobs[FOUR].problems
    )


@pytest.mark.parametrize(
    ("box", "more", "status", "said"),
    [
        (Box(nobody=OWNER), {}, 1, "550 5.1.1 no such mailbox"),
        (Box(refuse="552 5.3.4 too big for us"), {}, 1, "552 5.3.4 too big for us"),
        (Box(refuse="451 4.3.0 try again later"), {}, 3, "451 4.3.0 try again later"),
        (Box(), {"data_size_limit": 5000}, 1, "too large"),
    ],
)
def test_refused_is_not_noted(
    issued: Path, box: Box, more: dict[str, Any], status: int, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with server(box, **more) as port:
        settings(issued, port)
        assert send(issued) == status
    assert said in capsys.readouterr().err
    assert sent(issued) == [] and box.taken == []


def test_one_of_two_refused_means_none(issued: Path) -> None:
    box = Box(nobody="second@example.invalid")
    with server(box) as port:
        settings(issued, port)
        assert send(issued, "--to", OWNER, "--to", "second@example.invalid") == 1
    assert sent(issued) == [] and box.taken == []


def test_too_large_by_the_shops_own_limit(issued: Path) -> None:
    box = Box()
    with server(box) as port:
        settings(issued, port, more="  largest: 0\n")
        assert send(issued) == 1
    assert box.taken == []


class Breaking(threading.Thread):
    """A server that speaks SMTP up to a point and then drops the line."""

    def __init__(self, where: str) -> None:
        super().__init__(daemon=True)
        self.where = where
        self.listening = socket.create_server(("127.0.0.1", 0))
        self.port = self.listening.getsockname()[1]

    def run(self) -> None:
        connection, _ = self.listening.accept()
        with connection, connection.makefile("rb") as lines:
            if self.where == "greeting":
                return
            connection.sendall(b"220 here\r\n")
            for line in lines:
                word = line[:4].upper()
                if word == b"DATA":
                    connection.sendall(b"354 go on\r\n")
                    if self.where == "in the middle":
                        lines.read(2000)
                        connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, b"\1\0\0\0\0\0\0\0")
                        return
                    while lines.readline() != b".\r\n":
                        pass
                    return  # everything was received, and no word comes back
                if word == b"RCPT" and self.where == "recipient":
                    return
                connection.sendall(b"250 fine\r\n")


@pytest.mark.parametrize("where", ["greeting", "recipient", "in the middle", "before the word"])
def test_a_line_that_breaks_is_not_accepted(
    issued: Path, where: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(posting, "TIMEOUT", 10.0)
    breaking = Breaking(where)
    breaking.start()
    settings(issued, breaking.port)
    assert send(issued) == 3
    breaking.join(10)
    breaking.listening.close()
    said = capsys.readouterr().err
    assert "not sent" in said and "Traceback" not in said
    assert sent(issued) == []


def test_nobody_answers(issued: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        settings(issued, free.getsockname()[1])
        assert send(issued) == 3
    assert "cannot be reached" in capsys.readouterr().err and sent(issued) == []


@pytest.fixture(scope="module")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A certificate for localhost that nobody but this test trusts."""
    if not shutil.which("openssl"):
        pytest.skip("the test makes its certificate by openssl: apt-get install openssl")
    folder = tmp_path_factory.mktemp("certificate")
    key, chain = folder / "key.pem", folder / "certificate.pem"
    subprocess.run(
        ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "36500",
         "-subj", "/CN=localhost", "-addext", "subjectAltName=DNS:localhost",
         "-keyout", str(key), "-out", str(chain)],
        check=True, capture_output=True,
    )  # fmt: skip
    return key, chain


def _context(certificate: tuple[Path, Path]) -> ssl.SSLContext:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificate[1], certificate[0])
    return context


def _login(server: Any, session: Any, envelope: Any, mechanism: str, data: Any) -> Any:
    # handled=False: the server itself answers 535 to a wrong password
    right = (data.login, data.password) == (b"desk", b"right")
    return aiosmtpd.AuthResult(success=right, handled=False)


@pytest.mark.parametrize("security", ["starttls", "tls"])
def test_protected_and_logged_in(
    issued: Path,
    certificate: tuple[Path, Path],
    security: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setenv("SSL_CERT_FILE", str(certificate[1]))
    box = Box()
    more: dict[str, Any] = {"authenticator": _login}
    if security == "tls":
        more |= {"ssl_context": _context(certificate), "auth_require_tls": False}
    else:
        more |= {"tls_context": _context(certificate), "require_starttls": True, "auth_required": True}
    with server(box, **more) as port:
        settings(issued, port, security, "  user: desk\n")
        monkeypatch.delenv(posting.PASSWORD, raising=False)
        assert send(issued) == 3 and box.taken == []
        monkeypatch.setenv(posting.PASSWORD, "wrong")
        assert send(issued) == 3 and box.taken == []
        assert "does not take the password of desk" in capsys.readouterr().err
        monkeypatch.setenv(posting.PASSWORD, "right")
        assert send(issued) == 0
    assert len(box.taken) == len(sent(issued)) == 1
    assert "right" not in (issued / FOUR / "issued/register.jsonl").read_text("utf-8")


def test_a_server_that_nobody_vouches_for(
    issued: Path,
    certificate: tuple[Path, Path],
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.delenv("SSL_CERT_FILE", raising=False)
    box = Box()
    with server(box, tls_context=_context(certificate)) as port:
        settings(issued, port, "starttls")
        assert send(issued) == 3
    assert "cannot be trusted" in capsys.readouterr().err and box.taken == [] and sent(issued) == []


def test_a_server_without_protection_is_told_nothing(
    issued: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    box = Box()
    with server(box) as port:
        settings(issued, port, "starttls")
        assert send(issued) == 3
    assert "offers no protection" in capsys.readouterr().err and box.taken == []


def test_unprotected_to_another_machine_is_an_error_of_the_shop_file(issued: Path) -> None:
    edit(issued / "shop.yaml", "server: localhost", "server: smtp.example.invalid")
    assert any("unprotected" in one.message for one in load_shop(issued).all_problems)


def test_plain_english_needs_no_catalogue() -> None:
    assert language("en")("Total") == "Total"


def test_a_goodbye_that_goes_wrong_takes_nothing_back(issued: Path) -> None:
    """Once the server has answered the message with 250 it is responsible for it (RFC 5321, 4.2.5)."""

    class Curt(Box):
        async def handle_QUIT(self, server: Any, session: Any, envelope: Any) -> str:
            return "421 4.3.2 going down"

    box = Curt()
    with server(box) as port:
        settings(issued, port)
        assert send(issued) == 0
    assert len(box.taken) == len(sent(issued)) == 1


@pytest.mark.parametrize(
    ("code", "hourly", "limit", "printed", "over"),
    [
        ("KWD", "20.335", "30.000", ("30.503", "\u22120.763", "29.740", "5.948", "35.688"), "5.688"),
        ("JPY", "9001", "15000", ("13502", "\u2212338", "13164", "2633", "15797"), "797"),
    ],
)
def test_other_minor_units_from_the_estimate_to_the_mail(
    tmp_path: Path,
    pdf_renderer: None,
    code: str,
    hourly: str,
    limit: str,
    printed: tuple[str, ...],
    over: str,
) -> None:
    """ISO 4217: KWD has three decimals, JPY none.  By hand, halves up (ISO 80000-1, annex B, rule B):

    1.5 x 20.335 = 30.5025, 2.5 % of 30.503 = 0.762575, 20 % of 29.740 = 5.948;
    1.5 x 9001 = 13501.5, 2.5 % of 13502 = 337.55, 20 % of 13164 = 2632.8.
    """
    job = tmp_path / "jobs" / "2026-001"
    job.mkdir(parents=True)
    (tmp_path / "jobs/shop.yaml").write_text(
        f"name: Mill\ncontact: none\ncurrency: {code}\nfirst_unit: mm\nmail:\n  sender: m@example.invalid\n"
        f"rates:\n  - from: 2026-01-01\n    labour: {hourly}\n    tax: 20 %\n",
        "utf-8",
    )
    (job / "job.yaml").write_text(
        "title: Four\nengine: none-yet\nopened: 2026-03-01\n"
        "owner:\n  name: A\n  contact: a@example.invalid\narrival:\n  complaint: knocks\n"
        f"approvals:\n  - date: 2026-03-02\n    by: customer\n    how: signed\n    limit: {limit}\n",
        "utf-8",
    )
    (job / "work.yaml").write_text(
        "labour:\n  - task: look\n    hours: 1.5\n    why: asked\n"
        "discounts:\n  - what: regular customer\n    take: 2.5 % of labour\n",
        "utf-8",
    )
    for document, day in (("estimate", "2026-03-02"), ("statement", "2026-03-09")):
        if document == "statement":
            edit(job / "job.yaml", "owner:", "ready: 2026-03-08\ndelivered: 2026-03-09\nowner:")
        found = issuing.issue(tmp_path / "jobs", "2026-001", document, date.fromisoformat(day))
        assert found.issued is not None, found
        pages = pypdfium2.PdfDocument(job / "issued" / found.issued.file)
        text = " ".join(" ".join(page.get_textpage().get_text_range() for page in pages).split())
        pages.close()
        for amount in printed:
            assert amount in text, (document, amount)
        assert f"{printed[-1]} {code}" in text and f"{over} {code}" in text
    out = tmp_path / "draft.eml"
    assert run(["mail", "2026-001", "--shop", str(tmp_path / "jobs"), "--out", str(out)]) == 0
    letter_ = email.message_from_bytes(out.read_bytes(), policy=default)
    words = letter_.get_body(("plain",)).get_content().replace("\u00a0", " ")  # type: ignore[union-attr]
    assert f"it is {printed[-1]} {code}," in words and "The work comes to" not in words
