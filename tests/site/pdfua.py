"""What ISO 14289-1 (PDF/UA-1) asks of a PDF and a program can check; clauses in brackets.

Checked: the identifier [5]; language, a title that viewers show, the mark [7.1, 7.2]; every piece of
content is in the tree or an artifact [7.1]; no role that needs a map [7.1, 8]; figures have an alternative
and their bounds [7.3]; headings skip no level [7.4.2]; rows as wide as each other, cells and head cells
with a scope [7.2, 7.5]; lists of labels and bodies [7.6]; running heads are artifacts [7.8]; links with
words, in the tree, tabbed through in its order [7.18.1, 7.18.3, 7.18.5]; a signature's field with a name,
in the tree [7.18.4]; attachments named twice [7.11]; fonts embedded, with Unicode [7.21]; bookmarks.

Not checked, because people must: whether the order is the one to read in, an alternative says what is seen, a
head is the right one for its cells, contrast (tests of the pages do that), and words of a page that are a
picture of words.  No whole validator of the standard is in a package
that tests may take; a second opinion on its checkpoints is named in DEVELOPERS.md.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pikepdf

UA = "{http://www.aiim.org/pdfua/ns/id/}part"
# ISO 32000-1, 14.8.4: what stands in what
CHILDREN = {
    "Table": {"TR", "THead", "TBody", "TFoot", "Caption"},
    "THead": {"TR"},
    "TBody": {"TR"},
    "TR": {"TH", "TD"},
    "L": {"L", "LI", "Caption"},
    "LI": {"Lbl", "LBody"},
}
PARENTS = {"TR": {"Table", "THead", "TBody", "TFoot"}, "TH": {"TR"}, "TD": {"TR"}, "LI": {"L"}}
PARENTS |= {"Lbl": {"LI"}, "LBody": {"LI"}, "THead": {"Table"}, "TBody": {"Table"}}
GROUPING = {"Document", "Part", "Art", "Sect", "Div", "BlockQuote", "Caption", "NonStruct"}
STANDARD = GROUPING | {"P", "H1", "H2", "H3", "H4", "Span", "Link", "Figure", "Table", "TFoot"} | {*PARENTS}
STANDARD |= {"L", "Form"}


def problems(file: Path) -> list[str]:
    """Everything in one file that is not as the standard has it."""
    with pikepdf.open(file) as pdf:
        found = [*_document(pdf), *_tree(pdf), *_content(pdf), *_links(pdf), *_fonts(pdf)]
    return list(dict.fromkeys(found))


def _document(pdf: pikepdf.Pdf) -> Iterator[str]:
    root = pdf.Root
    if not root.get("/MarkInfo", {}).get("/Marked"):
        yield "not marked"
    if not str(root.get("/Lang", "")):
        yield "no language"
    if not root.get("/ViewerPreferences", {}).get("/DisplayDocTitle"):
        yield "its title is not shown"
    with pdf.open_metadata() as metadata:
        if not metadata.get("dc:title"):
            yield "no title"
        if metadata.get(UA) != "1":
            yield "no identifier of the standard"
    with pdf.open_outline() as outline:
        titles = [item.title for item in outline.root]
        titles += [kid.title for item in outline.root for kid in item.children]
    if not titles:
        yield "no bookmarks"
    # a number and a word are two words, however near they are set
    yield from (f"bookmark {title!r}" for title in titles if re.match(r"\d+[A-Za-z]{2}|\s|$", title))
    for name, file in pdf.attachments.items():
        if not ({"/F", "/UF", "/Desc", "/AFRelationship"} <= {*file.obj.keys()}):
            yield f"attachment {name} lacks a name, a description or what it is to the document"


def _walk(element: Any, parent: str = "") -> Iterator[tuple[Any, str]]:
    yield element, parent
    for kid in _kids(element):
        if isinstance(kid, pikepdf.Dictionary) and "/S" in kid:
            yield from _walk(kid, _role(element))


def _kids(element: Any) -> list[Any]:
    kids = element.get("/K", [])
    return list(kids) if isinstance(kids, pikepdf.Array) else [kids]


def _role(element: Any) -> str:
    return str(element.S)[1:]


def _tree(pdf: pikepdf.Pdf) -> Iterator[str]:
    root = pdf.Root.StructTreeRoot
    if root.get("/RoleMap"):
        yield "roles of its own"
    level = 0
    for top in _kids(root):
        for element, parent in _walk(top):
            role = _role(element)
            if role not in STANDARD:
                yield f"{role} is no role of the standard"
            if parent in CHILDREN and role not in CHILDREN[parent]:
                yield f"{role} in {parent}"
            if role in PARENTS and parent not in PARENTS[role]:
                yield f"{role} in {parent}"
            if role == "Table" and len(widths := {*_widths(element)}) > 1:
                yield f"rows of {widths} columns in one table"
            if role == "Figure":
                yield from _figure(element)
            if role == "TH" and str(element.get("/A", {}).get("/Scope", "")) not in ("/Row", "/Column"):
                yield "a head cell without a scope"
            if re.fullmatch(r"H\d", role):
                if int(role[1]) > level + 1:
                    yield f"{role} after level {level}"
                level = int(role[1])


def _widths(table: Any) -> Iterator[int]:
    """Columns of each row, but where a cell of another row reaches into it."""
    rows = [element for element, _ in _walk(table) if _role(element) == "TR"]
    cells = [[cell.get("/A", {}) for cell in _kids(row)] for row in rows]
    if not any(int(cell.get("/RowSpan", 1)) > 1 for row in cells for cell in row):
        yield from (sum(int(cell.get("/ColSpan", 1)) for cell in row) for row in cells)


def _figure(element: Any) -> Iterator[str]:
    if not str(element.get("/Alt", "")).strip():
        yield "a figure without an alternative"
    box = [float(end) for end in element.A.BBox]
    width, height = (float(end) for end in element.Pg.MediaBox[2:])
    if not (-1 <= box[0] < box[2] <= width + 1 and -1 <= box[1] < box[3] <= height + 1):
        yield f"a figure whose bounds are not on its page: {box}"


def _content(pdf: pikepdf.Pdf) -> Iterator[str]:
    """Painted content: all of it in the tree, or an artifact."""
    known: dict[Any, set[int]] = {}
    for top in _kids(pdf.Root.StructTreeRoot):
        for element, _ in _walk(top):
            marked = {int(kid) for kid in _kids(element) if not isinstance(kid, pikepdf.Object)}
            known.setdefault(element.get("/Pg", element).objgen, set()).update(marked)
    painting = {"Tj", "TJ", "'", '"', "f", "F", "f*", "B", "B*", "b", "b*", "S", "s", "sh", "Do", "BI"}
    for number, page in enumerate(pdf.pages, 1):
        depth: list[bool] = []
        for operands, operator in pikepdf.parse_content_stream(page):
            name = str(operator)
            if name in ("BMC", "BDC"):
                role = str(operands[0])
                inside = operands[1].get("/MCID") if name == "BDC" else None
                depth.append(
                    role == "/Artifact" or (inside is not None and int(inside) in known[page.objgen])
                )
            elif name == "EMC":
                depth.pop()
            elif name in painting and not any(depth):
                yield f"page {number}: content that is neither in the tree nor an artifact"


def _links(pdf: pikepdf.Pdf) -> Iterator[str]:
    owned: dict[Any, str] = {}
    for top in _kids(pdf.Root.StructTreeRoot):
        for element, _ in _walk(top):
            for kid in _kids(element):
                if isinstance(kid, pikepdf.Dictionary) and kid.get("/Type") == "/OBJR":
                    owned[kid.Obj.objgen] = _role(element)
    for page in pdf.pages:
        links = list(page.get("/Annots", []))
        if links and str(page.get("/Tabs")) != "/S":
            yield "links that are not tabbed through in the order of the tree"
        for link in links:
            if str(link.Subtype) == "/Widget":  # of a signature, the only form that we have [7.18.4]
                if not str(link.get("/TU", "")).strip():
                    yield "a form without a name"
                if owned.get(link.objgen) != "Form" or "/StructParent" not in link:
                    yield "a form that is not in the tree"
                continue
            if not str(link.get("/Contents", "")).strip():
                yield "a link without words"
            if owned.get(link.objgen) != "Link" or "/StructParent" not in link:
                yield "a link that is not in the tree"


def _fonts(pdf: pikepdf.Pdf) -> Iterator[str]:
    for page in pdf.pages:
        for font in page.get("/Resources", {}).get("/Font", {}).values():
            name = str(font.BaseFont)
            inner = font.DescendantFonts[0] if "/DescendantFonts" in font else font
            if not {"/FontFile", "/FontFile2", "/FontFile3"} & {*inner.FontDescriptor.keys()}:
                yield f"{name} is not embedded"
            if "/ToUnicode" not in font:
                yield f"{name} does not say what its letters are"
            if not re.fullmatch(r"/[A-Z]{6}\+(Report|Marks)(-[A-Za-z-]+)?", name):
                yield f"{name} is none of the fonts that are shipped"
