"""``packsim trial`` from a trial file to a recalibrated study, as a user would run it."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from packsim.chance import line_chance
from packsim.chance.sample import Plan
from packsim.scenario import load_scenario
from packsim.trial.chances import chance_at, with_kicks

pytestmark = pytest.mark.slow

Run = Callable[..., Any]
TRUTH = {"wash": 0.15, "drain": 0.12}


@pytest.fixture(scope="module", autouse=True)
def kept(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Keep the passages for all commands of this file, which look at short slices."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(line_chance, "Plan", lambda: Plan(cans=60, dt_s=0.4, look_mm=400.0))
        patch.setattr(line_chance, "MOST_REPEATS", 16)
        patch.setenv("PACKSIM_CACHE", str(tmp_path_factory.mktemp("kept")))
        yield


@pytest.fixture(scope="module")
def small(root: Path) -> Path:
    return root / "tests" / "trial" / "small_line.toml"


@pytest.fixture(scope="module")
def sheet(small: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Counts as the model expects them at other kicks than the scenario's, by stage and place."""
    line = with_kicks(load_scenario(small), TRUTH)
    rows = ["trial,date,size,cans,stage,clear_width,tipped,tipped_left,tipped_centre,tipped_right"]
    for width, cans in ((346.0, 200_000), (340.0, 300_000)):
        for stage in chance_at(line, "sleek body", [width] * 2).stages:
            places = [round(rate * cans / 1e6) for rate in stage.by_place]
            told = ",".join(map(str, (sum(places), *places)))
            day = "2025-03-04"
            rows.append(f"at {width:g},{day},sleek body,{cans},{stage.stage},{width} mm,{told}")
    path = tmp_path_factory.mktemp("trial") / "trial.csv"
    path.write_text("\n".join(rows), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def fitted(known: Run, small: Path, sheet: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The fit of the counts, with its chart and JSON next to it."""
    out = tmp_path_factory.mktemp("fit") / "fitted.toml"
    files = ("-o", out, "--chart", out.with_name("fit.svg"), "--json", out.with_name("fit.json"))
    guides = ("--guides", "as-set", "--guides", "340 mm")
    result = known("trial", "fit", small, sheet, *files, *guides)
    assert result.returncode == 0, result.stderr
    assert "Mean kick energy" in result.stdout
    assert "consistent" in result.stdout
    return out


def test_the_kicks_are_found_again(fitted: Path) -> None:
    text = fitted.read_text(encoding="utf-8")
    kicks = tomllib.loads(text)["kicks"]
    for duty, true in (("flood", TRUTH["wash"]), ("drain", TRUTH["drain"])):
        low, best, high = (float(kicks[duty][k].split()[0]) for k in ("low", "energy", "high"))
        assert low < true < high
        assert best == pytest.approx(true, rel=0.03)  # whole cans
        assert high < 1.5 * low  # an interval that tells something
    assert "seed 12" in text
    assert "kicks_per_second" in text


def test_a_trial_recalibrates_a_study_and_closes(
    known: Run, small: Path, fitted: Path, tmp_path: Path
) -> None:
    """Fit, study, and the counts are met; an included file does the same as --fitted."""
    key = "stages[0].kicks.energy"
    asked = ("--chance", "--json", "-")
    studies = [
        json.loads(known("study", small, *asked, *more).stdout)
        for more in ((), ("--fitted", fitted))
    ]
    before, after = ({a["key"] for one in s["answers"] for a in one["assumed"]} for s in studies)
    assert key in before  # given by hand, fitted to nothing
    assert key not in after
    told = json.loads(fitted.with_name("fit.json").read_text(encoding="utf-8"))["predictions"][0]
    found = studies[1]["chances"][0]
    assert found["tips_per_million"] == pytest.approx(told["tips_per_million"], rel=1e-3)
    page = known("study", small, "--all", "--fitted", fitted).stdout
    assert "Kick energies fitted to trials" in page
    (tmp_path / "fitted.toml").write_bytes(fitted.read_bytes())
    text = small.read_text(encoding="utf-8").replace(
        "seed = 12", 'seed = 12\ninclude = "fitted.toml"'
    )
    case = tmp_path / "case.toml"
    case.write_text(text, encoding="utf-8")
    assert json.loads(known("study", case, *asked).stdout)["answers"] == studies[1]["answers"]


def test_the_fit_as_data(fitted: Path) -> None:
    data = json.loads(fitted.with_name("fit.json").read_text(encoding="utf-8"))
    assert {row["duty"] for group in data["groups"] for row in group["energies"]} == {
        "flood",
        "drain",
    }
    assert data["contradicted"] == ""
    assert data["places"]["p_value"] > 0.05
    assert data["counts"][0]["expected"] == pytest.approx(data["counts"][0]["tipped"], rel=0.1)
    first = data["predictions"][0]
    assert first["tips_per_million_interval"][0] < first["tips_per_million"]
    assert fitted.with_name("fit.svg").read_text(encoding="utf-8").startswith("<svg")


def test_a_plan_with_its_forms(known: Run, small: Path, tmp_path: Path) -> None:
    form, page = tmp_path / "form.csv", tmp_path / "form.html"
    result = known("trial", "plan", small, "-o", form, "--html", page, "--units", "inch")
    assert result.returncode == 0, result.stderr
    assert "do not set it so for a trial" in " ".join(result.stdout.split())
    assert form.read_text(encoding="utf-8").splitlines()[1].startswith("trial,date,size")
    printed = page.read_text(encoding="utf-8")
    assert printed.startswith("<!DOCTYPE html>")
    # print drops what stands in a footer: how to count must not
    assert "write 0 where none did" in printed
    assert "<footer" not in printed
    assert printed.count("Stage not known") == printed.count("recorded by")
    again = known("trial", "plan", small, "-o", form)
    assert again.returncode == 2
    assert "--replace" in again.stderr


def test_bad_input_is_one_line_with_its_place(known: Run, root: Path, tmp_path: Path) -> None:
    swing, sheet = root / "scenarios" / "swing_line.toml", tmp_path / "bad.csv"
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
    assert f'{sheet}: row 2, column E (stage): got wsh; needs "wash"' in line
    assert not out.exists()
    for options in (
        ("fit", swing, sheet, "--grouping", "stage"),
        ("plan", swing, "--size", "stout"),
        ("plan", swing, "--power", "2"),
    ):
        wrong = known("trial", *options)
        assert wrong.returncode == 2, wrong.stdout
        assert "Traceback" not in wrong.stderr
