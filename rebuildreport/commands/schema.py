"""``schema``: write the JSON Schemas of the files."""

from __future__ import annotations

from pathlib import Path

import click

from .terminal.options import shop_option
from .terminal.telling import done, say


@click.command("schema")
@shop_option()
def command(shop: Path) -> int:
    """Write the JSON Schemas of all files into SHOP/.schemas.

    Each file that `start` makes names its schema in its first line; an editor
    that reads that line completes the keys and underlines what is wrong.
    """
    from ..assess.publishing import opendata
    from ..assess.publishing.results import results_schema
    from ..records.json_schema import write_schemas

    with done("the schemas cannot be written"):
        written = write_schemas(shop, {"results": results_schema(), "data": opendata.schema()})
    say(f"{len(written)} schemas in {written[0].parent}")
    return 0
