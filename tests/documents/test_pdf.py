"""What is said where the PDF renderer cannot be loaded."""

from __future__ import annotations

import subprocess
import sys


def test_without_the_layout_libraries_only_our_words_are_said() -> None:
    """The renderer prints a page of its own when a library is missing; whoever works here reads one line."""
    code = (
        "import cffi\n"
        "def no(self, name, flags=0): raise OSError(f'cannot load library {name!r}')\n"
        "cffi.FFI.dlopen = no\n"
        "from rebuildreport.documents import pdf\n"
        "try:\n    pdf._load()\nexcept pdf.PdfUnavailable as problem:\n    print(problem)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr == ""
    (line,) = done.stdout.splitlines()
    assert "libpangoft2-1.0-0" in line
