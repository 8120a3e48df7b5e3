"""What looks at pages for those who cannot see or point finds what is planted far down a page."""

from __future__ import annotations

from typing import Any

from .seeing import kept_out

PAGE = """<!doctype html><html lang="en"><head><title>t</title>
<meta name="viewport" content="width=device-width">
<style>.faint{{color:#ccc}}.scroll{{overflow-x:auto}}
td{{white-space:nowrap}}a{{font-size:6px;line-height:1}}</style>
</head><body><main><h1>T</h1><div class="scroll"{}>{}</div></main></body></html>"""


def test_a_fault_far_down_a_page_is_found(chromium: Any) -> None:
    """By hand: faint letters by class or style, targets of 6 pixels, a table that its last row widens."""
    rows = [f"<tr><td>{number}</td></tr>" for number in range(12)]
    wide, two = f"<tr><td>{'x' * 99}</td></tr>", "<tr><td><a href='#'>a</a> <a href='#'>b</a></td></tr>"
    reached = ' tabindex="0" role="group" aria-label="rows"'
    page = chromium.new_page()
    for attributes, last, wanted in (
        (reached, wide, set()),
        ("", wide, {"scrollable-region-focusable"}),
        (reached, "<tr><td class='faint'>12</td></tr>", {"color-contrast"}),
        (reached, "<tr><td style='color:#ccc'>12</td></tr>", {"color-contrast"}),
        (reached, two, {"target-size"}),
    ):
        page.set_content(PAGE.format(attributes, f"<table>{''.join(rows)}{last}</table>"))
        found = {one.split(": ")[1] for one in kept_out(page)}
        assert found == wanted, (last, found)
    page.close()
