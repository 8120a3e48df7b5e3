"""Signing: an issued PDF under the shop's own key, as PAdES baseline B-B (ETSI EN 319 142-1).

In: the bytes of a PDF and a key file (PKCS#12) that lies outside the shop's folder.  Out: the same bytes with
a signature behind them, so whoever cuts that off has what was made.  Asks no server: it says nothing of when.
"""

from __future__ import annotations

import io
import os
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

SECRET = "REBUILDREPORT_SIGNING_SECRET"
EXTRA = "pip install 'rebuildreport[sign]'"
FIELD = "Signature"
Ask = Callable[[], str | None]


class NotSigned(Exception):
    """Why there is no signature: the files, or (``lacking``) this machine."""

    def __init__(self, message: str, lacking: bool = False) -> None:
        super().__init__(message)
        self.lacking = lacking


class Key:
    """The shop's key, opened: who it names, and the print that tells it from any other."""

    def __init__(self, signer: Any) -> None:
        self._signer = signer

    def __str__(self) -> str:
        certificate = self._signer.signing_cert
        # half of the certificate's SHA-256, in groups that can be read out on a telephone
        return (
            f"{certificate.subject.native.get('common_name', '')} (key {certificate.sha256[:16].hex(' ', 2)})"
        )

    def signed(self, document: bytes, says: str, lang: str) -> bytes:
        """A PDF with a signature added; ``says`` names it, in the language ``lang``, to who cannot see."""
        from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
        from pyhanko.sign import fields, signers

        writer = IncrementalPdfFileWriter(io.BytesIO(document))
        fields.append_signature_field(writer, fields.SigFieldSpec(FIELD, readable_field_name=says))
        _in_the_tree(writer, says, lang)
        how = signers.PdfSignatureMetadata(
            field_name=FIELD, md_algorithm="sha256", subfilter=fields.SigSeedSubFilter.PADES
        )
        signer = signers.PdfSigner(how, self._signer)
        return bytes(signer.sign_pdf(writer, existing_fields_only=True).getbuffer())


def opened(shop: Path, named: str, ask: Ask) -> Key:
    """The key that shop.yaml names, by the secret of the environment or as asked for.

    Raises NotSigned where there is none, it is not to be used, or the library is missing.
    """
    path = (shop / Path(named).expanduser()).resolve()
    if path.is_relative_to(shop.resolve()):
        raise NotSigned(f"the key '{named}' lies in the shop's folder and is copied along: keep it elsewhere")
    if not path.is_file():
        raise NotSigned(f"shop.yaml names the key '{named}', and there is no such file", lacking=True)
    try:
        from pyhanko.sign import signers
    except ImportError:
        raise NotSigned(f"signing needs a library that is not installed: {EXTRA}", lacking=True) from None
    secret = os.environ.get(SECRET) or ask()
    if secret is None:
        raise NotSigned(f"the key's secret is not set: put it into the environment as {SECRET}", lacking=True)
    library: Any = signers.SimpleSigner
    try:
        signer = library.load_pkcs12_data(path.read_bytes(), [], passphrase=secret.encode() or None)
    except (ValueError, OSError):
        raise NotSigned(f"'{named}' cannot be opened: another secret, or no PKCS#12 file") from None
    valid = signer.signing_cert["tbs_certificate"]["validity"]
    first, last = valid["not_before"].native, valid["not_after"].native
    if not first <= datetime.now(UTC) <= last:
        raise NotSigned(f"the key '{named}' is valid from {first:%Y-%m-%d} to {last:%Y-%m-%d} only")
    return Key(signer)


def _in_the_tree(writer: Any, says: str, lang: str) -> None:
    """The field as a form of the structure tree, with a name [ISO 14289-1, 7.18.1 and 7.18.4].

    It has no place on the page, and needs no looks [ISO 19005-3, 6.3.3].
    """
    from pyhanko.pdf_utils import generic as objects
    from pyhanko.pdf_utils.generic import pdf_name, pdf_string

    generic: Any = objects  # half of it has no types
    root = writer.root
    widget = root["/AcroForm"]["/Fields"].raw_get(-1)
    tree = root["/StructTreeRoot"]
    top = tree["/K"].raw_get(0) if isinstance(tree["/K"], generic.ArrayObject) else tree.raw_get("/K")
    page = widget.get_object().raw_get("/P")
    held = generic.DictionaryObject({pdf_name("/Type"): pdf_name("/OBJR"), pdf_name("/Obj"): widget})
    form = writer.add_object(
        generic.DictionaryObject(
            {
                pdf_name("/Type"): pdf_name("/StructElem"),
                pdf_name("/S"): pdf_name("/Form"),
                pdf_name("/P"): top,
                pdf_name("/Pg"): page,
                pdf_name("/Alt"): pdf_string(says),
                pdf_name("/Lang"): pdf_string(lang),
                pdf_name("/K"): generic.ArrayObject([held]),
            }
        )
    )
    kids = top.get_object()["/K"]
    kids.append(form)
    numbers = tree["/ParentTree"]["/Nums"]
    key = int(numbers[-2]) + 1  # they are in order [ISO 32000-1, 7.9.7]
    numbers += [generic.NumberObject(key), form]
    widget.get_object()[pdf_name("/StructParent")] = generic.NumberObject(key)
    for changed in (top.get_object(), kids, tree, tree["/ParentTree"], numbers, widget.get_object()):
        writer.update_container(changed)
