"""What a PDF from anywhere holds, told by a process of its own with little time and memory.

Run as a program with the name of a file it prints JSON: attachments, words and who signed, or what is wrong.
Whatever the file is made to do to who reads it, it does it there: nothing of ours is imported.
"""

from __future__ import annotations

import json
import subprocess
import sys
import zlib
from pathlib import Path
from typing import Any

SECONDS, PATIENCE = 2, 20  # of a processor; on the clock, where the machine is busy with other things
MEMORY = 300 << 20
LARGEST = 64 << 20  # of a PDF
MOST = 8 << 20  # of an attachment, and of all words
PAGES = 200
WANTED = ("extract.json", "results.json")


def inside(path: Path) -> dict[str, Any]:
    """What the file holds, or under ``wrong`` why nobody can say."""
    try:
        done = subprocess.run(
            [sys.executable, "-P", __file__, str(path)],
            capture_output=True,
            timeout=PATIENCE,
            check=False,
            stdin=subprocess.DEVNULL,
        )
        found = json.loads(done.stdout)
        return found if isinstance(found, dict) else {"wrong": _STOPPED}
    except (subprocess.TimeoutExpired, ValueError):  # it was ended, or killed before it could tell
        return {"wrong": _STOPPED}


_STOPPED = "reading it takes more time or memory than any document of ours: it is damaged or made to do harm"


def limited(seconds: int, memory: int) -> None:
    """Take from this process what it must not use."""
    try:
        import resource
    except ImportError:  # no such limits here: the clock alone ends it
        return
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 1))
    resource.setrlimit(resource.RLIMIT_AS, (memory, memory))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _held(path: str) -> dict[str, Any]:
    import pikepdf

    try:
        with pikepdf.open(path, attempt_recovery=False, suppress_warnings=True) as pdf:
            pages = len(pdf.pages)
            named = [name for name in WANTED if name in pdf.attachments]
            files = {name: _bytes(pdf.attachments[name].get_file().obj) for name in named}
            form: Any = pdf.Root.get("/AcroForm", {})
            signed = any(str(field.get("/FT")) == "/Sig" for field in form.get("/Fields", []))
    except pikepdf.PasswordError:
        return {"wrong": "it is locked with a password"}
    except Exception as problem:  # of a broken file a library may say anything
        said = str(problem).removeprefix(path).lstrip(": ").partition("\n")[0][:120]
        return {"wrong": f"the file is damaged or cut off: {said or type(problem).__name__}"}
    if pages > PAGES:
        return {"wrong": f"it has {pages} pages: no document of ours"}
    return {"files": files, "words": _words(path), "signatures": _signatures(path) if signed else []}


def _bytes(stream: Any) -> str:
    """An attachment as text, unpacked no further than to what is allowed."""
    raw = stream.read_raw_bytes()
    packing = str(stream.get("/Filter", ""))
    if packing not in ("", "/FlateDecode"):
        raise ValueError(f"an attachment is packed as none of ours is: {packing[:40]}")
    if packing:
        unpacking = zlib.decompressobj()
        raw = unpacking.decompress(raw, MOST + 1)
    if len(raw) > MOST:
        raise ValueError("an attachment is larger than any of ours")
    return str(bytes(raw), "utf-8")


def _words(path: str) -> str:
    import pypdfium2

    found, length = [], 0
    for page in pypdfium2.PdfDocument(path):
        text = page.get_textpage().get_text_range()
        found.append(text)
        length += len(text)
        if length > MOST:
            break
    return "\f".join(found)


def _signatures(path: str) -> list[dict[str, Any]] | None:
    """Who signed, with which key, and whether it is all as it was then; None: nobody here can say."""
    try:
        from pyhanko.pdf_utils.reader import PdfFileReader
        from pyhanko.sign.validation import SignatureCoverageLevel, validate_pdf_signature
        from pyhanko_certvalidator import ValidationContext
    except ImportError:
        return None
    found = []
    with Path(path).open("rb") as file:
        for one in PdfFileReader(file).embedded_signatures:
            certificate = one.signer_cert
            # nobody is trusted beforehand: whose key it is, is for who reads to find out
            alone = ValidationContext(trust_roots=[certificate], allow_fetching=False)
            status = validate_pdf_signature(one, alone, skip_diff=True)
            found.append(
                {
                    "by": str(certificate.subject.native.get("common_name", ""))[:80],
                    "key": certificate.sha256[:16].hex(" ", 2),
                    "sound": status.intact and status.valid,
                    "whole": status.coverage == SignatureCoverageLevel.ENTIRE_FILE,
                }
            )
    return found


if __name__ == "__main__":
    limited(SECONDS, MEMORY)
    try:
        told = _held(sys.argv[1])
    except Exception:
        told = {"wrong": _STOPPED}
    sys.stdout.write(json.dumps(told))
