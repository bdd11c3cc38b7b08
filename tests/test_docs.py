"""The documentation is rendered by one command, and nothing on its pages leads nowhere."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]


def docs(*words: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "tests.docs", *words]
    return subprocess.run(
        command, cwd=ROOT, capture_output=True, text=True, check=False, timeout=300
    )


@pytest.mark.all
def test_every_module_gets_a_page_and_every_link_leads_to_one(tmp_path: Path) -> None:
    place = tmp_path / "pages"
    result = docs(str(place))
    assert result.returncode == 0, result.stderr
    assert Path(result.stdout.strip()) == place / "index.html"
    for source in (*ROOT.glob("packsim/**/*.py"), *ROOT.glob("viewer/**/*.py")):
        name = source.relative_to(ROOT)
        page = name.parent if source.stem == "__init__" else name.with_suffix("")
        if source.stem != "__main__":
            assert (place / f"{page}.html").is_file(), name
    for page in ("index.html", "developers.html"):
        text = (place / page).read_text(encoding="utf-8")
        targets = re.findall(r'(?:href|src)="([^"#]+)"', text)
        assert len(targets) >= 5
        for target in targets:
            assert (place / target).is_file(), target
    can = (place / "packsim" / "can.html").read_text(encoding="utf-8")
    assert "Outside diameter and height of the body [mm]." in can
    assert 'href="../../index.html"' in (place / "packsim" / "pack" / "state.html").read_text(
        "utf-8"
    )
    for page in place.glob("**/*.html"):
        assert not re.search(r'<(?:script|link|img)[^>]+="https?:', page.read_text("utf-8")), page


def test_a_folder_with_something_in_it_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine", encoding="utf-8")
    result = docs(str(tmp_path))
    assert result.returncode == 2
    assert "not a new or empty folder" in result.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]
