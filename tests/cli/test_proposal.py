"""``packsim proposal``: from two scenarios and figures to a page that says whether it pays."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.browser import NEEDS_BROWSER, sheets_of
from tests.cli.test_compare import LINE
from tests.content.harmless import of_page

Run = Callable[..., Any]

FIGURES = """
schema = 2
currency = "crowns"
can_value = 0.05
price_of_change = 2000
years = 5
discount_rate = "8 %"
[[sizes]]
size = "211 body"
cans_a_year = "10 million"
cans_counted = 1_000_000
cans_down = 400
"""

TRIAL = """
schema = 2
[[trials]]
name = "first week"
date = 2025-03-04
size = "211 body"
cans = 100_000
tipped = 200
"""

DOT = bytes.fromhex(
    "89504e470d0a1a0a0000000d4948445200000001000000010802000000907753de0000000c4944415408d763f8cfc0"
    "00000301010018dd8db00000000049454e44ae426082"
)
"""A PNG of one dot."""


@pytest.fixture(scope="module", autouse=True)
def kept(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """Passages of this file are kept for it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PACKSIM_CACHE", str(tmp_path_factory.mktemp("kept")))
        yield


@pytest.fixture
def files(tmp_path: Path) -> tuple[Path, ...]:
    """Before, after and figures, and what belongs between."""
    before, after, figures = (tmp_path / f"{name}.toml" for name in ("before", "after", "figures"))
    before.write_text(LINE, encoding="utf-8")
    after.write_text(LINE.replace("612 mm", "600 mm"), encoding="utf-8")
    figures.write_text(FIGURES, encoding="utf-8")
    return before, after, figures


def asked(files: tuple[Path, ...], *more: object) -> tuple[object, ...]:
    before, after, figures = files
    return "proposal", before, after, "--figures", figures, *more


def test_the_page_the_data_and_the_terminal_say_one_thing(
    packsim: Run, files: tuple[Path, ...], tmp_path: Path
) -> None:
    page, data, trial = tmp_path / "page.html", tmp_path / "data.json", tmp_path / "trial.toml"
    logo = tmp_path / "logo.png"
    logo.write_bytes(DOT)
    trial.write_text(TRIAL, encoding="utf-8")
    shown = packsim(*asked(files, "-o", page, "--json", data, "--trial", trial, "--logo", logo))
    assert shown.returncode == 0, shown.stderr
    told, text = json.loads(data.read_text(encoding="utf-8")), " ".join(shown.stdout.split())
    saving, printed = told["saving"], page.read_text(encoding="utf-8")
    assert told["command"] == "proposal"
    assert saving["verdict"] == "does not pay"
    assert set(saving["left_out"]) == {
        *("cleaning", "metal", "jam_minutes", "size_changes_a_year"),
        *("minutes_a_bracket", "line_hour", "crew_hour"),
    }
    assert saving["saved_money_per_year"]["best"] == pytest.approx(
        0.05 * saving["saved_cans_per_year"]["best"]
    )
    (answer,) = re.findall(r"It does not pay, in [^.]*\.", text)
    assert answer in printed
    # 400 in a million today: what is left is foretold, and 2,000 were counted
    (counted,) = told["counted"]
    assert counted["down_per_million"] == 2000.0
    assert counted["off"]["best"] == pytest.approx(2000.0 / counted["foretold"]["best"], rel=0.1)
    assert counted["agreement"] == "more counted"
    assert "first week" in printed
    assert "The forecast was too low: " in text
    assert 'src="data:image/png;base64,' in printed
    assert not re.search(r"https?://", printed.replace("http://www.w3.org", ""))
    assert printed.count("<svg") == 9
    assert "clear width, wash: 612.0 mm → 600.0 mm (24 3/32 in → 23 5/8 in)" in printed
    assert "taken to have tipped" in printed
    # ten lanes of touching cans, 66.1 mm across, 95 % of them there, at 6 m/min
    takes = r"cans down of ([\d,]+) cans on each machine \((\d+) minutes of running in all\)"
    cans, minutes = (float(n.replace(",", "")) for n in re.findall(takes, text)[0])
    assert minutes == pytest.approx(2.0 * cans / (6000.0 / 66.1 * 10 * 0.95), abs=0.6)


def test_without_counts_the_first_line_says_so(
    packsim: Run, files: tuple[Path, ...], tmp_path: Path
) -> None:
    files[2].write_text(FIGURES.partition("cans_counted")[0], encoding="utf-8")
    page = tmp_path / "page.html"
    shown = packsim(*asked(files, "-o", page, "--units", "inch"))
    assert shown.returncode == 0, shown.stderr
    printed = page.read_text(encoding="utf-8")
    first = re.search(r"<body>.*?<p[^>]*>(.*?)</p>", printed, re.DOTALL)
    assert first is not None
    assert first[1].startswith("Nobody counted the cans down of 211 body")
    assert "Nobody counted" in shown.stdout
    assert "24 3/32 in → 23 5/8 in (612.0 mm → 600.0 mm)" in printed


def test_no_change_saves_nothing(packsim: Run, files: tuple[Path, ...]) -> None:
    shown = packsim(*asked((files[0], files[0], files[2]), "--json", "-"))
    saving = json.loads(shown.stdout)["saving"]
    assert saving["saved_cans_per_year"] == {"best": 0.0, "interval": [0.0, 0.0]}
    assert (saving["verdict"], saving["never"]) == ("does not pay", 1.0)


@pytest.mark.parametrize(
    ("spoilt", "said"),
    [
        ('size = "211 body"', "sizes[0].size: got other; needs one of 211 body"),
        ("can_value = 0.05", "can_value: got -1; needs an amount"),
    ],
)
def test_figures_that_cannot_be_are_refused_before_any_work(
    packsim: Run, files: tuple[Path, ...], tmp_path: Path, spoilt: str, said: str
) -> None:
    wrong = spoilt.partition(" = ")[0] + (' = "other"' if '"' in spoilt else " = -1")
    files[2].write_text(FIGURES.replace(spoilt, wrong), encoding="utf-8")
    page = tmp_path / "page.html"
    shown = packsim(*asked(files, "-o", page))
    assert (shown.returncode, shown.stdout) == (2, "")
    assert said in shown.stderr
    assert not page.exists()


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "a PNG or JPEG picture; save a drawing"),
        (DOT[:40], "cut short"),
        (DOT + bytes(600_000), "a picture of at most 500000"),
        (b"", "a PNG or JPEG picture"),
    ],
)
def test_a_logo_is_a_small_picture_and_nothing_else(
    packsim: Run, files: tuple[Path, ...], tmp_path: Path, raw: bytes, said: str
) -> None:
    logo = tmp_path / "logo.png"
    logo.write_bytes(raw)
    shown = packsim(*asked(files, "--logo", logo))
    assert shown.returncode == 2
    (line,) = shown.stderr.splitlines()
    assert str(logo) in line
    assert said in line


def test_sizes_and_trials_that_do_not_go_through_are_named(
    packsim: Run, files: tuple[Path, ...], tmp_path: Path
) -> None:
    files[1].write_text(LINE.replace("590 mm", "540 mm"), encoding="utf-8")
    shown = packsim(*asked(files))
    assert shown.returncode == 2
    assert (
        "sizes: got 211 body: drain: 9 lanes fit in 540.0 mm, the infeed brings 10" in shown.stderr
    )
    files[1].write_text(LINE.replace("211 body", "other body"), encoding="utf-8")
    shown = packsim(*asked(files))
    assert "got 211 body: only one of the lines has it; needs a size that" in shown.stderr
    files[1].write_text(LINE, encoding="utf-8")
    trial = tmp_path / "trial.toml"
    trial.write_text(
        TRIAL + '[[trials.stages]]\nstage = "drain"\nclear_width = "540 mm"\n', encoding="utf-8"
    )
    shown = packsim(*asked(files, "--trial", trial))
    assert (shown.returncode, shown.stdout) == (2, "")
    assert "--trial: got drain: 9 lanes fit in 540.0 mm" in shown.stderr


@pytest.mark.all
@NEEDS_BROWSER
@pytest.mark.parametrize("paper", ["A4", "letter"])
def test_the_proposal_is_one_page_of_either_paper(
    packsim: Run, root: Path, tmp_path: Path, paper: str
) -> None:
    """Also with all that may come on top: no counts, a logo, two trials, most figures missing."""
    figures, trial, logo = (tmp_path / name for name in ("f.toml", "t.toml", "logo.png"))
    figures.write_text(
        'schema = 2\ncurrency = "crowns"\ncan_value = 0.05\n[[sizes]]\nsize = "sleek body"\n'
        'cans_a_year = "300 million ± 10 %"\n',
        encoding="utf-8",
    )
    one = TRIAL.partition("[[")[2].replace("211", "sleek")
    trial.write_text(f"schema = 2\n[[{one}\n[[{one.replace('first', 'second')}", encoding="utf-8")
    logo.write_bytes(DOT)
    lines = [root / "scenarios" / "proposal" / f"{name}.toml" for name in ("today", "changed")]
    page = tmp_path / "page.html"
    more = ("--trial", trial, "--logo", logo, "--units", "inch", "-o", page)
    assert packsim("proposal", *lines, "--figures", figures, *more).returncode == 0
    text = page.read_text(encoding="utf-8")
    first, appendix, _ = text.partition('<section>\n<h2 class="page">Appendix')
    assert appendix
    assert len(sheets_of(first + "</body></html>", paper, tmp_path)) == 1


@pytest.mark.all
def test_names_do_no_harm_on_the_page(
    packsim: Run, files: tuple[Path, ...], tmp_path: Path
) -> None:
    pages = []
    for name in ("plain", "</title></style><img src=x onerror=alert(1)>' {{ 7*7 }}", "a\u202eb\tc"):
        renamed = {"211 body": f"{name} can", '"wash"': f'"{name} wash"', "crowns": f"{name} money"}
        for file, text in zip(
            files, (LINE, LINE.replace("612 mm", "600 mm"), FIGURES), strict=True
        ):
            for was, now in renamed.items():
                text = text.replace(was, now)
            file.write_text(text.replace("Rough line", f"{name} line"), encoding="utf-8")
        page = tmp_path / f"{len(pages)}.html"
        assert packsim(*asked(files, "-o", page)).returncode == 0
        pages.append(page.read_bytes())
    assert [harm for page in pages[1:] for harm in of_page(page, pages[0])] == []
