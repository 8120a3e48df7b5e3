"""No page nearly empty: how full the pages of a document are, and how it is set again where one is not.

In: a document as WeasyPrint laid it out.  Out: the same laid out otherwise.  Knows no document of ours.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any

LEAST = 1 / 3  # of a page's height: below that a page looks forgotten
# the last page of a long record may end earlier: each other way of setting it takes as long as all of it
LEAST_LAST, LONG = 1 / 6, 10
GIVING = 0.45  # what a page keeps that gives to the next
# steps that a reader does not notice: a line of 13 points set in 12.6 or 12.2, or in 13.3 or 13.6
WAYS = (
    "html{font-size:12.6pt}@page{margin-bottom:18mm}",
    "html{font-size:13.3pt}",
    "html{font-size:12.2pt}@page{margin-bottom:17mm}",
    "html{font-size:13.6pt}",
    "html{font-size:12pt}@page{margin-bottom:16mm}",  # two lines over are no page
)
GAP = 0.012  # of a page's height: the air above what begins in the middle of one
PASSES = 3
BLOCKS, TRIED = ("section", "article", "div", "h2", "h3"), 2  # what a page may begin with
Layout = Callable[[str], Any]  # from one more stylesheet to a document


def filled(lay_out: Layout) -> Any:
    """A document as it is set with the fewest pages that are nearly empty.

    What begins a page of its own goes on below what left the page before it nearly empty, but for an order:
    that goes to a shop of its own.  Where a page is still too empty all is set a little closer, or wider; in
    the end the page before the last gives of its own.
    """
    best, running_on, size = lay_out(""), "", ""
    for _ in range(PASSES):  # where one runs on, the next may come to stand badly
        if not (further := "".join(_running_on(best))):
            break
        running_on += further
        best = lay_out(running_on)
    short = _short(best)
    for way in WAYS if short and _in_reach(best, short) else ():
        other = lay_out(running_on + way)
        left = _short(other)
        if left == short and not _moved(best, other, short):
            break
        # what is asked stands on page one, whatever another page looks like for it
        if (0 in left, len(left)) < (0 in short, len(short)):
            best, short, size = other, left, way
        if not short:
            return best
    if short == [len(best.pages) - 1]:
        for start in _starts(best):
            other = lay_out(f"{running_on}{size}#{start}{{break-before:page!important}}")
            if not _short(other):
                return other
    return best


def _short(document: Any) -> list[int]:
    """The pages that are nearly empty, and the first where what is to be read on it has no room there."""
    last = len(document.pages) - 1
    return [
        number
        for number, page in enumerate(document.pages)
        if (
            _fill(page) < (LEAST_LAST if number == last > LONG else LEAST) if number else _overflows(document)
        )
    ]


def _overflows(document: Any) -> bool:
    """Whether a box of the class 'page-one' stands on the second page."""
    boxes = _boxes(document.pages[1]) if len(document.pages) > 1 else ()
    return any(
        box.element is not None and "page-one" in box.element.get("class", "").split() for box in boxes
    )


def _in_reach(document: Any, short: list[int]) -> bool:
    """Whether setting it otherwise may help: few pages have little to give to the last, or to take of it."""
    before, last = len(document.pages) - 1, _fill(document.pages[-1])
    return short != [before] or last < 0.12 * before or LEAST - last < 0.06 * before


def _moved(document: Any, other: Any, short: list[int]) -> bool:
    """Whether letters of another size moved the end of a page nearly empty, or of the one before it.

    Boxes to write in have their height in millimetres: five ways of setting them are five times the same.
    The first page is full either way: it is short of what has no room on it.
    """
    if 0 in short:
        return True
    pages = {number for last in short for number in (last - 1, last)}
    ends = ((_end(document.pages[number]), _end(other.pages[number])) for number in pages)
    return any(abs(was - now) > 0.01 * was for was, now in ends)


def _end(page: Any) -> float:
    """How far down a page something stands, from its upper margin."""
    ends = (leaf.position_y + leaf.margin_height() for leaf in _boxes(page) if not leaf.children)
    return float(max(ends, default=0.0) - page._page_box.content_box_y())


def _fill(page: Any) -> float:
    """The same as a share of the height between the margins."""
    return _end(page) / float(page._page_box.height)


def _boxes(page: Any) -> Iterator[Any]:
    root = page._page_box.children[0]  # its other children are the running lines in its margins
    yield from root.descendants()


def _starts(document: Any) -> list[str]:
    """Where the page before the last may end earlier, so that the last is nearly empty no more."""
    before, last = document.pages[-2:]
    box = before._page_box
    lacks = (LEAST + 0.02 - _fill(last)) * box.height
    latest = box.content_box_y() + _fill(before) * box.height - lacks
    earliest = box.content_box_y() + GIVING * box.height
    found = {
        one.element.get("id"): one.position_y
        for one in _boxes(before)
        if one.element is not None and one.element.tag in BLOCKS and earliest <= one.position_y <= latest
    }
    found.pop(None, None)
    return sorted(found, key=lambda name: -found[name])[:TRIED]


def _running_on(document: Any) -> Iterator[str]:
    """The rules by which what follows a page nearly empty begins on it; the last, on the page before it.

    An assembly of the build sheet is worked through on one page: it goes on there only where it has room as a
    whole, or is longer than a page anyway.  A part of the bench sheet begins there with what has room.
    """
    last = len(document.pages) - 1
    for number, page in enumerate(document.pages):
        if last and _fill(page) < LEAST:
            beside = document.pages[number + 1 if number < last else last - 1]
            room = _fill(page) + _fill(beside) < 1.0 - GAP
            longer = _ids(document.pages[number + 2 : number + 3])
            for box in _boxes(document.pages[min(number + 1, last)]):
                if box.element is None:
                    continue
                kinds, name = box.element.get("class", "").split(), box.element.get("id")
                if "sheetpart" in kinds and not room:
                    yield f"#{name}{{break-inside:auto!important}}"  # some of its blocks here
                if box.style["break_before"] != "page":
                    continue
                if "order" not in kinds and (room or "bpage" not in kinds or name in longer):
                    yield f"#{name}{{break-before:auto!important;margin-top:.6rem!important}}"
                    if not room and "bpage" in kinds:
                        return  # it ends elsewhere now: what follows it may have no room there any more


def _ids(pages: Sequence[Any]) -> set[str | None]:
    return {box.element.get("id") for page in pages for box in _boxes(page) if box.element is not None}
