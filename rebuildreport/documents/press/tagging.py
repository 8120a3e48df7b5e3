"""What PDF/UA-1 and PDF/A-3 ask of a PDF beyond what WeasyPrint writes: done before its bytes are.

In: the document as it was laid out and the objects of its PDF.  Out: the same, put right.  Knows no document
of ours; numbers in brackets are clauses of ISO 14289-1:2014, ISO 19005-3:2012 and ISO 32000-1:2008.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

Roles = tuple[str, ...]
PT = 0.75  # points to a pixel of CSS

# the part of the standard that is followed [14289, 5]; an archive wants what is not its own described
IDENTIFIER = """<rdf:Description rdf:about=""
 xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/" pdfuaid:part="1"/>
<rdf:Description rdf:about="" xmlns:pdfaExtension="http://www.aiim.org/pdfa/ns/extension/"
 xmlns:pdfaSchema="http://www.aiim.org/pdfa/ns/schema#"
 xmlns:pdfaProperty="http://www.aiim.org/pdfa/ns/property#"><pdfaExtension:schemas><rdf:Bag>
<rdf:li rdf:parseType="Resource"><pdfaSchema:schema>PDF/UA identification</pdfaSchema:schema>
<pdfaSchema:namespaceURI>http://www.aiim.org/pdfua/ns/id/</pdfaSchema:namespaceURI>
<pdfaSchema:prefix>pdfuaid</pdfaSchema:prefix><pdfaSchema:property><rdf:Seq>
<rdf:li rdf:parseType="Resource"><pdfaProperty:name>part</pdfaProperty:name>
<pdfaProperty:valueType>Integer</pdfaProperty:valueType>
<pdfaProperty:category>internal</pdfaProperty:category>
<pdfaProperty:description>part of ISO 14289 that is followed</pdfaProperty:description></rdf:li>
</rdf:Seq></pdfaSchema:property></rdf:li></rdf:Bag></pdfaExtension:schemas></rdf:Description>
</rdf:RDF>"""


def finish(document: Any, pdf: Any) -> None:
    """The finisher that WeasyPrint calls with the laid out document and the PDF's objects."""
    root = _object(pdf, pdf.catalog["StructTreeRoot"])
    reached: set[bytes] = set()
    for reference, element, inside in _elements(pdf, root["K"][0], ()):
        reached.add(reference)
        role = element["S"]
        if role in ("/TH", "/TD"):
            _cell(element, inside)
        elif role == "/L":
            _list(pdf, element)
        elif role == "/Figure":
            _bounds(pdf, element)
    _running(pdf, root, reached)
    for thing in pdf.objects:
        extra = getattr(thing, "extra", {})
        if "Interpolate" in extra:  # a viewer would show what stands in no file [19005, 6.2.8]
            extra["Interpolate"] = "false"
    for page in document.pages:
        _links(page._page_box)
    metadata = _object(pdf, pdf.catalog["Metadata"]).stream
    metadata[0] = metadata[0].replace(b"</rdf:RDF>", IDENTIFIER.encode())


def _object(pdf: Any, reference: bytes) -> Any:
    return pdf.objects[int(reference.split()[0])]


def _elements(pdf: Any, reference: bytes, inside: Roles) -> Iterator[tuple[bytes, Any, Roles]]:
    """Every element of the tree with the roles that it stands in; a change on the way is seen below it."""
    element = _object(pdf, reference)
    yield reference, element, inside
    for kid in element["K"]:
        if isinstance(kid, bytes) and _object(pdf, kid).get("Type") == "/StructElem":
            yield from _elements(pdf, kid, (*inside, element["S"]))


def _cell(cell: Any, inside: Roles) -> None:
    """A head cell tells what it is the head of [14289, 7.5]; then no cell has to list its heads by name.

    Names are unique in a document [32000, 14.7.2], and a head that is repeated on a page would repeat its.
    """
    cell.pop("ID", None)
    cell["A"].pop("Headers", None)
    if cell["S"] == "/TH":
        cell["A"]["Scope"] = "/Column" if "/THead" in inside else "/Row"


def _list(pdf: Any, parent: Any) -> None:
    """A group of a name and what is known of it is one item: a label and its body [32000, 14.8.4.3.3]."""
    for group in (_object(pdf, kid) for kid in parent["K"] if isinstance(kid, bytes)):
        if group.get("S") != "/Div":
            continue
        group["S"] = "/LI"
        bodies = [body for kid in group["K"] for body in _object(pdf, kid)["K"]]
        for body in bodies:
            _object(pdf, body)["P"] = group.reference
        if len(bodies) > 1:
            _object(pdf, bodies[0])["S"] = "/Lbl"
        group["K"][:] = bodies


def _bounds(pdf: Any, figure: Any) -> None:
    """Where a figure is, in points from the lower edge of its page [32000, 14.8.5.4.3]."""
    left, top, right, bottom = figure["A"]["BBox"]
    height = _object(pdf, figure["Pg"])["MediaBox"][3]
    figure["A"]["BBox"][:] = [left * PT, height - bottom * PT, right * PT, height - top * PT]


def _running(pdf: Any, root: Any, reached: set[bytes]) -> None:
    """Head and foot of a page are artifacts, not content that stands in no tree [14289, 7.1 and 7.8]."""
    numbers = _object(pdf, root["ParentTree"])["Nums"]
    for page, owners in zip(pdf.pages["Kids"][::3], numbers[1::2], strict=False):
        outside = {at for at, owner in enumerate(owners) if owner not in reached}
        for at in outside:
            owners[at] = b"null"
        stream = _object(pdf, pdf.objects[page]["Contents"]).stream
        for at, item in enumerate(stream):
            if isinstance(item, dict) and item.get("MCID", -1) in outside:
                stream[at - 1] = "/Artifact"
                item.clear()
                item["Type"] = "/Pagination"


def _links(box: Any) -> None:
    """A link says where it leads in the words that stand there [14289, 7.18.5]."""
    box = getattr(box, "_box", box)
    annotation = getattr(box, "link_annotation", None)
    if annotation:
        words = box.element.get("aria-label") or "".join(box.element.itertext())
        annotation["Contents"].string = " ".join(words.split())
    for child in getattr(box, "children", ()):
        _links(child)
