"""What ISO 19005-3 (PDF/A-3, level A) asks of a PDF and a program can check; clauses in brackets.

Checked: head, identifier, no encryption, nothing behind its end [6.1.2, 6.1.3]; streams inside the file,
packed by what is allowed [6.1.7]; lengths of strings and names [6.1.13]; colours of the profile that it
names, graphics states and pictures without what depends on a device [6.2.2 to 6.2.8]; fonts embedded
[6.2.11.4, in pdfua.py]; annotations that are printed, with looks where they have a place [6.3]; no form
that needs a program [6.4]; no action but going somewhere [6.5]; metadata that name part and level [6.6];
structure and language [6.7, in pdfua.py]; attachments with kind, date and what they are to the document
[6.8]; no layers [6.9].

Not checked, because no tool in a package that tests may take looks there: widths and glyphs inside font
programs [6.2.11], what a colour profile holds, blending spaces, each property of the metadata's schemas.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pikepdf

FILTERS = {"/FlateDecode", "/DCTDecode", "/ASCII85Decode", "/ASCIIHexDecode", "/RunLengthDecode"}
ACTIONS = {"/GoTo", "/GoToR", "/GoToE", "/Thread", "/URI", "/Named"}
ANNOTATIONS = {"/Link", "/Widget"}  # that we make; the standard knows more
BLENDING = "Normal Multiply Screen Overlay Darken Lighten ColorDodge ColorBurn HardLight SoftLight Difference"


def problems(file: Path) -> list[str]:
    """Everything in one file that is not as the standard has it."""
    raw = file.read_bytes()
    found = []
    if not re.match(rb"%PDF-1\.[0-7]\r?\n%[\x80-\xff]{4}", raw):
        found.append("its head")
    if not re.search(rb"%%EOF\r?\n?$", raw):
        found.append("something stands behind its end")
    with pikepdf.open(file) as pdf:
        found += [*_whole(pdf), *_colours(pdf)]
        for thing in pdf.objects:
            found += _object(thing)
        for page in pdf.pages:
            found += [problem for one in page.get("/Annots", []) for problem in _annotation(one)]
    return list(dict.fromkeys(found))


def _whole(pdf: pikepdf.Pdf) -> Iterator[str]:
    root = pdf.Root
    if "/ID" not in pdf.trailer or pdf.is_encrypted:
        yield "no identifier, or encrypted"
    names = {*root.get("/Names", {}).keys()}
    if names - {"/EmbeddedFiles", "/Dests"} or {"/AA", "/OCProperties", "/Requirements"} & {*root.keys()}:
        yield f"scripts, actions of its own or layers: {names}"
    form = root.get("/AcroForm", {})
    if "/XFA" in form or form.get("/NeedAppearances"):
        yield "a form that needs a program"
    with pdf.open_metadata() as metadata:
        if metadata.pdfa_status != "3A":
            yield f"its metadata say {metadata.pdfa_status}"
    if "/Filter" in root.Metadata:
        yield "packed metadata"
    for name in pdf.attachments:
        file = pdf.attachments[name].obj
        stream = file.EF.F
        if "/Subtype" not in stream or "/ModDate" not in stream.get("/Params", {}):
            yield f"{name} without its kind or date"
        if "/AFRelationship" not in file or file.objgen not in {one.objgen for one in root.get("/AF", [])}:
            yield f"{name} is nothing to the document"


def _colours(pdf: pikepdf.Pdf) -> Iterator[str]:
    intents = [one for one in pdf.Root.get("/OutputIntents", []) if str(one.S) == "/GTS_PDFA1"]
    if len(intents) != 1 or int(intents[0].DestOutputProfile.N) != 3:
        yield "no profile for its colours"
    for page in pdf.pages:
        for operands, operator in pikepdf.parse_content_stream(page):
            if str(operator) in ("k", "K") or "/DeviceCMYK" in map(str, operands):
                yield "colours of four inks, and the profile has three"


def _object(thing: Any) -> Iterator[str]:
    if isinstance(thing, pikepdf.String) and len(bytes(thing)) > 32767:
        yield "a string that is too long"
    if isinstance(thing, pikepdf.Name) and len(str(thing)) > 128:
        yield "a name that is too long"
    if not isinstance(thing, (pikepdf.Dictionary, pikepdf.Stream)):
        return
    keys = {*thing.keys()}
    if isinstance(thing, pikepdf.Stream):
        packed = thing.get("/Filter", [])
        packed = [packed] if isinstance(packed, pikepdf.Name) else list(packed)
        if {"/F", "/FFilter", "/FDecodeParms"} & keys or {*map(str, packed)} - FILTERS:
            yield f"a stream outside of it, or packed by {packed}"
    if {"/Alternates", "/OPI", "/Ref", "/PS"} & keys or thing.get("/Interpolate"):
        yield "a picture that looks otherwise elsewhere"
    if str(thing.get("/Type")) == "/ExtGState":
        blending = str(thing.get("/BM", "/Normal"))[1:]
        if {"/TR", "/HTP"} & keys or blending not in BLENDING.split():
            yield "a graphics state that depends on a device"
    if (kind := str(thing.get("/S"))) in {"/Launch", "/JavaScript", "/SubmitForm", "/ImportData", "/Hide"}:
        yield f"an action: {kind}"
    action = thing.get("/A")
    if isinstance(action, pikepdf.Dictionary) and "/S" in action and str(action.S) not in ACTIONS:
        yield f"an action: {action.S}"


def _annotation(one: Any) -> Iterator[str]:
    flags = int(one.get("/F", 0))
    if str(one.Subtype) not in ANNOTATIONS or not flags & 4 or flags & (1 | 2 | 32):
        yield f"an annotation {one.Subtype} that is not printed: {flags}"
    left, low, right, high = map(float, one.Rect)
    if str(one.Subtype) != "/Link" and "/AP" not in one and (left, low) != (right, high):
        yield "an annotation without looks"
    if "/AA" in one:
        yield "an annotation that acts by itself"
