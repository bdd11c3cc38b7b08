"""A browser without a screen prints a page: how many sheets of paper it takes, and how large."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from tests.processes import own_group

BROWSER = shutil.which("chromium") or shutil.which("chromium-browser")

NEEDS_BROWSER = pytest.mark.skipif(BROWSER is None, reason="chromium is not installed")

OPTIONS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-dev-shm-usage",  # a container may have little memory that processes share
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-pdf-header-footer",
)


def sheets_of(html: str, paper: str, folder: Path) -> list[tuple[float, float]]:
    """Print a page on A4 or letter and return the size of each sheet [pt].

    Of what the browser starts nothing is left, whatever happens.
    """
    page, target = folder / "printed.html", folder / "printed.pdf"
    sized = html.replace("@page {", f"@page {{ size: {paper};", 1)
    assert sized != html
    page.write_text(sized, encoding="utf-8")
    own = (f"--user-data-dir={folder / 'profile'}", f"--print-to-pdf={target}", page.as_uri())
    how = {"stdout": subprocess.DEVNULL, "stderr": subprocess.PIPE, "text": True}
    with own_group([str(BROWSER), *OPTIONS, *own], **how) as process:
        _, said = process.communicate(timeout=300)
    assert process.returncode == 0, said[-2000:]
    data = target.read_bytes()
    assert data.startswith(b"%PDF")
    boxes = re.findall(rb"/MediaBox\s*\[\s*0\s+0\s+([\d.]+)\s+([\d.]+)", data)
    return [(float(wide), float(high)) for wide, high in boxes]
