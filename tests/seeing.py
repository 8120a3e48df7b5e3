"""axe-core on pages: whatever keeps people out who cannot see or point."""

from __future__ import annotations

from typing import Any

from axe_playwright_python.sync_playwright import Axe

ALL_BUT_COLOURS = {"rules": {"color-contrast": {"enabled": False}}}
COLOURS = {"runOnly": ["color-contrast"]}
# a later row may be the widest of its table, so these two see the whole page
ON_PHONES = {"runOnly": ["scrollable-region-focusable", "heading-order"]}
TO_POINT_AT = {"runOnly": ["color-contrast", "target-size"]}

# What two show of its look below the same parents goes from the third on: more than half of the time
# went into the same three colours of tables, row by row.
THINNED = """() => {
    const told = ({ name, value }) => ["class", "style", "fill"].includes(name) ? value : name;
    const own = (one) => [one.tagName, ...[...one.attributes].map(told)].join(" ");
    const look = (one) => own(one) + [...one.children].map(look).join(">");
    const seen = {};
    (function thin(parent, above) {
        for (const child of [...parent.children]) {
            const its = above + look(child);
            seen[its] = (seen[its] ?? 0) + 1;
            if (seen[its] > 2) child.remove(); else thin(child, `${above}/${own(child)}`);
        }
    })(document.body, "");
}"""


def kept_out(page: Any, on_phones: bool = True) -> list[str]:
    """What axe-core finds on an open page, however small: WCAG 2.2 A and AA, and its best practices.

    All rules on a wide light page.  On a phone only what is drawn is another, in the dark only the colours.
    """
    found: list[str] = []
    page.evaluate(Axe().axe_script)

    def look(scheme: str, width: int, rules: dict[str, Any]) -> None:
        page.emulate_media(color_scheme=scheme)
        page.set_viewport_size({"width": width, "height": 900})
        wanted = {**rules, "resultTypes": ["violations"]}
        for one in page.evaluate("async (how) => (await axe.run(how)).violations", wanted):
            node = one["nodes"][0]
            found.append(f"{scheme}, {width}: {one['id']}: {node['target']} {node['html'][:200]}")

    look("light", 1280, ALL_BUT_COLOURS)
    if on_phones:
        look("light", 390, ON_PHONES)
    page.evaluate(THINNED)
    look("light", 1280, COLOURS)
    if on_phones:
        look("light", 390, TO_POINT_AT)
        look("dark", 390, COLOURS)
    return found
