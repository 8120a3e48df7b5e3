"""Issued documents under the shop's own key: signed, still an archive, and noticed when changed."""

from __future__ import annotations

import asyncio
import io
import subprocess
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import pkcs12

from rebuildreport.assess import assess_for_documents
from rebuildreport.records import load_shop
from rebuildreport.site.sending import issuing, signing
from rebuildreport.site.verifying.verifying import verify

from . import pdfa, pdfua
from .conftest import edit
from .test_verify import JOBS, PUMP

SECRET = "not in any file"


@pytest.fixture(autouse=True)
def _own_loop() -> Iterator[None]:
    """A browser that other tests of this process opened keeps its loop; who signs begins one."""
    browsers = asyncio._get_running_loop()
    asyncio._set_running_loop(None)
    yield
    asyncio._set_running_loop(browsers)


def key_file(path: Path, last: timedelta = timedelta(days=365)) -> str:
    """A key and its certificate, which nobody but itself vouches for; its print by a second library."""
    key, now = ec.generate_private_key(ec.SECP256R1()), datetime.now(UTC)
    name = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, "Orchard Lane Engines (invented)")])
    made = x509.CertificateBuilder(name, name, key.public_key(), 1, now - timedelta(days=2), now + last)
    certificate = made.sign(key, hashes.SHA256())
    locked = serialization.BestAvailableEncryption(SECRET.encode())
    path.write_bytes(pkcs12.serialize_key_and_certificates(b"shop", key, certificate, None, locked))
    return certificate.fingerprint(hashes.SHA256()).hex()


@pytest.fixture
def shop(shop: Path, tmp_path: Path) -> Path:
    key_file(tmp_path / "shop.p12")
    edit(shop / "shop.yaml", "currency:", "signing_key: ../shop.p12\ncurrency:")
    return shop


@pytest.fixture(scope="module")
def document(pdf_renderer: Any) -> bytes:
    folder = load_shop(JOBS, [PUMP])
    return issuing.made("report", assess_for_documents(folder, folder.jobs[PUMP]), {}, JOBS, JOBS)


def test_a_signed_report_is_right_and_says_who_signed(
    document: bytes, shop: Path, tmp_path: Path, pdftoppm: str
) -> None:
    """By pyHanko as we ask it and by poppler's own reader; an archive's rules still hold."""
    shown = key_file(tmp_path / "shop.p12")
    key = signing.opened(shop, "../shop.p12", lambda: SECRET)
    data = key.signed(document, "Signature of the shop", "en")
    assert data.startswith(document)
    path = tmp_path / "signed.pdf"
    path.write_bytes(data)
    found = verify(path)
    assert found.right and "nothing was changed after" in found.said, found.said
    assert "Orchard Lane Engines" in found.said and shown[:32] in found.said.replace(" ", "")
    second = subprocess.run(["pdfsig", path], capture_output=True, text=True, check=False).stdout
    for said in ("ETSI.CAdES.detached", "Signature is Valid", "Total document signed"):
        assert said in second
    assert [*pdfua.problems(path), *pdfa.problems(path)] == []
    with pikepdf.open(path) as pdf, pdf.open_metadata() as metadata:
        assert {*pdf.attachments} == {"extract.json", "results.json"}
        assert (metadata.pdfa_status, str(metadata["pdfuaid:part"])) == ("3A", "1")


@pytest.mark.usefixtures("here")
def test_what_is_changed_after_is_noticed(document: bytes, shop: Path, tmp_path: Path) -> None:
    """One byte; something more behind the signature; and a signature of the customer's, which is none."""
    path = tmp_path / "changed.pdf"
    key = signing.opened(shop, "../shop.p12", lambda: SECRET)
    data = key.signed(document, "Signature", "en")
    path.write_bytes(data[:5000] + bytes([data[5000] ^ 1]) + data[5001:])
    assert not verify(path).right

    from pyhanko.pdf_utils.generic import pdf_string
    from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
    from pyhanko.sign import fields, signers

    writer = IncrementalPdfFileWriter(io.BytesIO(data))
    writer.root["/Lang"] = pdf_string("de")
    writer.update_root()
    out = io.BytesIO()
    writer.write(out)
    path.write_bytes(out.getvalue())
    assert "it was changed after it was signed" in verify(path).said

    key_file(tmp_path / "customer.p12")
    library: Any = signers.SimpleSigner
    customer = library.load_pkcs12(str(tmp_path / "customer.p12"), passphrase=SECRET.encode())
    how = signers.PdfSignatureMetadata(field_name="Customer", subfilter=fields.SigSeedSubFilter.PADES)
    path.write_bytes(signers.sign_pdf(IncrementalPdfFileWriter(io.BytesIO(data)), how, customer).getbuffer())
    found = verify(path)
    assert found.right and "the next who signed added to it" in found.said, found.said


@pytest.mark.parametrize(
    ("named", "secret", "said"),
    [
        ("shop.p12", SECRET, "lies in the shop's folder"),
        ("../none.p12", SECRET, "no such file"),
        ("../shop.p12", "guessed", "another secret"),
        ("../shop.p12", None, signing.SECRET),
        ("../old.p12", SECRET, "is valid from"),
        ("../text.p12", SECRET, "no PKCS#12 file"),
    ],
)
def test_a_key_that_cannot_be_used_issues_nothing(
    shop: Path,
    named: str,
    secret: str | None,
    said: str,
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
) -> None:
    monkeypatch.setattr(issuing, "made", lambda *all: b"%PDF")
    key_file(shop / "shop.p12")
    key_file(shop.parent / "old.p12", timedelta(days=-1))
    (shop.parent / "text.p12").write_text("no key", "utf-8")
    edit(shop / "shop.yaml", "../shop.p12", named)
    job = next(path.name for path in shop.iterdir() if (path / "job.yaml").is_file())
    found = issuing.issue(shop, job, "report", date(2027, 1, 1), lambda: secret)
    assert found.exit_status in (1, 3) and said in found.messages[0], found.messages
    assert not (shop / job / "issued").exists()
    assert caplog.records == []  # the library has its own word for it, and a traceback
