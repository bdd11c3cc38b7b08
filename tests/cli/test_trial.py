"""``packsim trial`` from a trial file to a recalibrated study, as a user would run it."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from scipy.stats import chi2

Run = Callable[..., Any]
SIZE = ("--size", "sleek body")


@pytest.fixture(scope="module")
def swing(root: Path) -> Path:
    return root / "scenarios" / "swing_line.toml"


@pytest.fixture(scope="module")
def trial(root: Path) -> Path:
    return root / "scenarios" / "trials" / "swing_line_trial.toml"


@pytest.fixture(scope="module")
def fitted(known: Run, swing: Path, trial: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The fit of the invented trial, with its chart and JSON next to it."""
    out = tmp_path_factory.mktemp("fit") / "fitted.toml"
    chart, data = out.with_name("fit.svg"), out.with_name("fit.json")
    result = known(
        "trial",
        "fit",
        swing,
        trial,
        "-o",
        out,
        "--chart",
        chart,
        "--json",
        data,
        "--guides",
        "1388.5 mm",
        "--guides",
        "1371 mm",
    )
    assert result.returncode == 0, result.stderr
    assert "Mean kick energy" in result.stdout
    return out


def test_the_invented_kicks_are_found_again(fitted: Path) -> None:
    # the file says what it was drawn with: 0.002 mJ in the floods, 0.25 mJ in the blow-off
    kicks = tomllib.loads(fitted.read_text(encoding="utf-8"))["kicks"]
    assert set(kicks) == {"flood", "blow-off"}
    for duty, true in (("flood", 0.002), ("blow-off", 0.25)):
        low, high = (float(kicks[duty][key].split()[0]) for key in ("low", "high"))
        assert low <= true <= high
        assert high < 1.2 * low  # an interval that tells something
    text = fitted.read_text(encoding="utf-8")
    assert "# rinse: upper limit; still assumed" in text
    assert "seed 211" in text


def test_a_trial_recalibrates_a_study_in_two_commands(
    known: Run, swing: Path, fitted: Path
) -> None:
    before = json.loads(known("study", swing, "--json", "-").stdout)
    result = known("study", swing, "--fitted", fitted, "--json", "-")
    after = json.loads(result.stdout)
    key = "stages[2].kicks.energy"

    def assumed(study: dict) -> set[str]:
        return {a["key"] for answer in study["answers"] for a in answer["assumed"]}

    assert key in assumed(before)
    assert key not in assumed(after)
    assert "stages[0].kicks.energy" in assumed(after)  # the rinse had no tips: still assumed
    old, new = (
        next(s for s in d["answers"] if s["stage"] == "wash" and s["size"] == "sleek body")
        for d in (before, after)
    )
    # 20 of 180,000 tipped in the wash as found, where the assumed kicks tip nearly every can
    low, high = (1e6 * chi2.ppf(p, k) / 2.0 / 180_000 for p, k in ((0.025, 40), (0.975, 42)))
    assert low < new["tips_per_million"] < high < 0.01 * old["tips_per_million"]
    page = known("study", swing, "--all", "--fitted", fitted).stdout
    assert "Kick energies fitted to trials" in page
    assert "as found (2025-03-04)" in page


def test_an_included_file_does_the_same(
    known: Run, swing: Path, fitted: Path, tmp_path: Path
) -> None:
    (tmp_path / "fitted.toml").write_bytes(fitted.read_bytes())
    text = swing.read_text(encoding="utf-8").replace(
        "seed = 211", 'seed = 211\ninclude = "fitted.toml"'
    )
    case = tmp_path / "case.toml"
    case.write_text(text, encoding="utf-8")
    included = json.loads(known("study", case, "--json", "-").stdout)
    given = json.loads(known("study", swing, "--fitted", fitted, "--json", "-").stdout)
    assert included["answers"] == given["answers"]


def test_the_fit_as_data(fitted: Path) -> None:
    data = json.loads(fitted.with_name("fit.json").read_text(encoding="utf-8"))
    by_duty = {row["duty"]: group for group in data["groups"] for row in group["energies"]}
    assert by_duty["rinse"]["status"] == "upper limit"
    assert by_duty["drain"]["status"] == "no information"
    assert data["counts"][0]["tipped"] == 45
    first = data["predictions"][0]
    assert first["tips_per_million_interval"][0] < first["tips_per_million"]
    assert fitted.with_name("fit.svg").read_text(encoding="utf-8").startswith("<svg")


def test_totals_alone_fit_a_common_factor(known: Run, swing: Path, root: Path) -> None:
    totals = root / "scenarios" / "trials" / "swing_line_totals.csv"
    result = known("trial", "fit", swing, totals)
    assert result.returncode == 0, result.stderr
    assert "one common factor" in result.stdout


def test_the_cost_of_an_adjustment(known: Run, swing: Path, fitted: Path) -> None:
    asked = ("trial", "cost", swing, *SIZE, "--guides", "1371 mm", "--hours-per-year", "6000")
    result = known(*asked, "--fitted", fitted, "--cost-per-can", "0.12", "--adjustment-cost", "900")
    assert result.returncode == 0, result.stderr
    assert "has paid after" in result.stdout
    assert "cost a year" in result.stdout
    bare = known(*asked)
    assert "kick energies assumed" in bare.stdout
    assert "cost a year" not in bare.stdout


def test_a_plan_with_its_forms(known: Run, swing: Path, tmp_path: Path) -> None:
    form, page = tmp_path / "form.csv", tmp_path / "form.html"
    result = known("trial", "plan", swing, *SIZE, "-o", form, "--html", page, "--units", "inch")
    assert result.returncode == 0, result.stderr
    assert "do not set it so for a trial" in " ".join(result.stdout.split())
    assert form.read_text(encoding="utf-8").startswith("trial,date,size")
    printed = page.read_text(encoding="utf-8")
    assert printed.startswith("<!DOCTYPE html>")
    # print drops what stands in a footer: how to count must not
    assert "write 0 where none did" in printed
    assert "<footer" not in printed
    assert printed.count("Stage not known") == printed.count("recorded by")
    again = known("trial", "plan", swing, "-o", form)
    assert again.returncode == 2
    assert "--replace" in again.stderr


def test_bad_input_is_one_line_with_its_place(known: Run, swing: Path, tmp_path: Path) -> None:
    sheet = tmp_path / "bad.csv"
    sheet.write_text(
        "trial,date,size,cans,stage,clear_width,tipped\n"
        "A,2025-03-04,sleek body,100,wsh,1380 mm,3\n",
        encoding="utf-8",
    )
    out = tmp_path / "out.toml"
    result = known("trial", "fit", swing, sheet, "-o", out)
    assert result.returncode == 2
    assert result.stdout == ""
    (line,) = result.stderr.strip().splitlines()
    assert f'{sheet}: line 2, column 5 (stage): got wsh; needs "wash"' in line
    assert not out.exists()
    for options in (
        ("fit", swing, sheet, "--grouping", "stage"),
        ("plan", swing, "--size", "stout"),
        ("plan", swing, "--power", "2"),
        ("cost", swing, "--guides", "12 kg", "--hours-per-year", "100"),
        ("cost", swing, "--guides", "1380 mm", "--hours-per-year", "-1"),
    ):
        wrong = known("trial", *options)
        assert wrong.returncode == 2, wrong.stdout
        assert "Traceback" not in wrong.stderr
