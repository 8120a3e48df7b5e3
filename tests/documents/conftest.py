"""Fixtures: prepared photos made of nothing, and the sample's PDF rendered once."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image

from rebuildreport.documents.press.photos import Prepared, prepare

from . import sample


@pytest.fixture(scope="session")
def photo_folder(tmp_path_factory) -> Path:
    return tmp_path_factory.mktemp("photos")


@pytest.fixture(scope="session")
def album(photo_folder, tmp_path_factory) -> dict[str, Prepared]:
    """Photos of the sample: plain colours, prepared as real ones are."""
    source = tmp_path_factory.mktemp("originals")
    out: dict[str, Prepared] = {}
    for i, photo in enumerate(sample.orchard().photos):
        path = source / f"{photo.name}.jpg"
        Image.new("RGB", (800, 600), (40 * i, 90, 120)).save(path)
        out[photo.name] = prepare(path, photo_folder)
    return out


@pytest.fixture(scope="session")
def pdf(album, photo_folder) -> bytes:
    pytest.importorskip("weasyprint")
    from rebuildreport.documents.report.rendering import printed_report

    return printed_report(sample.orchard(), album, photo_folder=photo_folder).pdf()
