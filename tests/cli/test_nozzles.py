"""``packsim nozzles``: its files reopened and counted, its answers those of the study."""

from __future__ import annotations

import csv
import io
import json
import math
import re
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from typer.testing import CliRunner

from packsim.cli.commands import app
from packsim.headers import DesignWish, check_headers, design_headers, find_shifts
from packsim.line import Scenario
from packsim.report.charts.nozzle_charts import design_chart, dose_chart, least_even, shift_chart
from packsim.report.files.csv_tables import check_csv
from packsim.report.terminal.parts import merged_table
from packsim.report.words.display import Display
from packsim.report.words.numbers import lane_words
from packsim.scenario import load_scenario
from packsim.spray.dose import dose

Run = Callable[..., Any]
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def swing_file(root: Path) -> Path:
    return root / "scenarios" / "swing_line.toml"


@pytest.fixture(scope="module")
def swing(swing_file: Path) -> Scenario:
    return load_scenario(swing_file)


def ran(*words: object) -> str:
    result = CliRunner().invoke(app, ["nozzles", *map(str, words)], catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.stdout


def data(*words: object) -> Any:
    return json.loads(ran(*words, "--json", "-"))


def test_check_says_what_every_stage_takes(swing_file: Path, swing: Scenario) -> None:
    for answer in data("check", swing_file)["answers"]:
        takes = [answer[f"{medium}_L_per_min"] or 0.0 for medium in ("liquid", "gas")]
        headers = swing.stage(answer["stage"]).headers
        # by the square root law, litres and minutes by hand
        each = [
            60e-6
            * h.count
            * h.nozzle.flow_mm3_per_s
            * (h.pressure_MPa / h.nozzle.reference_MPa) ** 0.5
            for h in headers
        ]
        assert sum(takes) == pytest.approx(sum(each))
        by_header = [w["flow_L_per_min"] for side in answer["sides"] for w in side["work"]]
        assert sorted(by_header) == pytest.approx(sorted(each))


def piped(swing_file: Path, folder: Path, *keys: str) -> Path:
    """The swing line with keys more in its first header."""
    text = swing_file.read_text(encoding="utf-8")
    known = 'from_stage_start = "600 mm"\n'
    file = folder / "piped.toml"
    file.write_text(text.replace(known, known + "\n".join(keys) + "\n", 1), encoding="utf-8")
    return file


def test_a_pipe_given_is_told_and_one_not_given_only_looked_for(
    swing_file: Path, tmp_path: Path
) -> None:
    file = piped(swing_file, tmp_path, 'pipe_inside = "8 mm"', 'pipe_roughness = "0.2 mm"')
    (answer,) = data("check", file, "--stage", "pre-rinse", "--size", "211 body")["answers"]
    (work,) = answer["sides"][0]["work"]
    assert work["pipe"]["inside_mm"] == 8.0
    assert work["pipe"]["last_share"][0] < work["smallest_pipe"]["last_share"][0] < 1.0
    text = ran("check", file, "--stage", "pre-rinse", "--size", "211 body")
    assert work["pipe_serves"] is False
    told = " ".join(text.split())
    assert "too small for its nozzles to spray alike: pre-rinse above; take one of 15.8 mm" in told
    assert text.count("last/first") == 2  # as a head, and where heads are explained
    assert ran("check", swing_file, "--stage", "pre-rinse").count("last/first") == 1
    (answer,) = data("check", swing_file, "--stage", "pre-rinse", "--size", "211 body")["answers"]
    assert answer["sides"][0]["work"][0]["pipe"] is None


def test_a_stricter_share_asks_for_a_wider_pipe(swing_file: Path) -> None:
    bores = []
    for share in ("90 %", "98 %", "99.9 %"):
        words = ("--stage", "blow-off", "--size", "211 body", "--pipe-share", share)
        (answer,) = data("check", swing_file, *words)["answers"]
        bores.append(answer["sides"][0]["work"][0]["smallest_pipe"]["inside_mm"])
    assert bores == sorted(bores)
    assert bores[0] < bores[-1]


@pytest.mark.parametrize(
    ("key", "allowed"), [('pipe_inside = "2 mm"', "5"), ('pipe_roughness = "9 mm"', "5")]
)
def test_a_pipe_out_of_range_is_refused(
    swing_file: Path, tmp_path: Path, key: str, allowed: str
) -> None:
    file = piped(swing_file, tmp_path, key)
    result = CliRunner().invoke(app, ["nozzles", "check", str(file)])
    assert result.exit_code == 2
    assert key.split(" = ")[0] in result.output
    assert allowed in result.output


def test_check_prints_the_answer_for_each_size(swing_file: Path) -> None:
    text = ran("check", swing_file)
    assert "211 body: 66.1 mm across" in text
    assert "lane 14" in text
    assert "28.6 mm from the nearest one" in text
    assert text.count("packsim nozzles shift") == 1  # for the sleek body; 211 is 0.4 mm off
    assert "Assumed" in text
    assert "Isolate and lock out" in text
    lanes = ran("check", swing_file, "--stage", "wash", "--size", "211 body")
    assert len(re.findall(r"^ \d+ +\d+\.\d +[+−]?\d", lanes, flags=re.MULTILINE)) == 24


def test_what_if_names_the_worst_nozzle_of_like_headers_once(swing_file: Path) -> None:
    text = ran("check", swing_file, "--stage", "wash", "--size", "211 body", "--what-if")
    rows = [" ".join(line.split()) for line in text.splitlines()]
    (above,) = (r for r in rows if r.startswith("nozzle 1 plugged above, at 800.0,"))
    assert "14.77 1 0 % 21.08 1 −12 %" in above
    assert any(r.startswith("pressures −10 % 14.01") for r in rows)
    assert any(r.startswith("headers as far off as from sleek body") for r in rows)
    alone = ran("check", swing_file, "--stage", "wash", "--wander", "8 mm")
    assert "pack 8.0 mm to the left" in alone
    assert "plugged" not in alone.replace("the plugged nozzle", "").split("off ")[0]


@pytest.mark.all
def test_shift_agrees_with_the_study_to_the_last_digit(swing_file: Path) -> None:
    runner = CliRunner()
    out = runner.invoke(app, ["study", str(swing_file), "--json", "-"], catch_exceptions=False)
    judge = {(s["stage"], s["size"]): s for s in json.loads(out.stdout)["answers"]}
    found = data("shift", swing_file)
    assert found["command"] == "nozzles shift"
    for answer in (stage for line in found["answers"] for stage in line["stages"]):
        want = judge[answer["stage"], answer["size"]]
        side = next(s for s in answer["sides"] if s["side"] == want["nozzle_side"])
        for key in (
            *("nozzle_offset_mm", "best_shift_mm", "nozzle_offset_shifted_mm"),
            *("best_shift_rms_mm", "nozzle_offset_rms_shifted_mm"),
        ):
            assert side[key] == want[key]
        assert answer["slack_mm"] == want["slack_mm"]
        # both sides of this line have the same nozzles: together they want the same
        best = answer["best"]["best_shift_mm"]
        assert best == pytest.approx(want["best_shift_mm"], abs=1e-9)


def test_shift_says_what_a_change_would_do(root: Path) -> None:
    # 2 mm gained are less than 5 % of a diameter: no bracket is touched for it
    for name, size in (("height_only.toml", "16 oz"), ("swing_line.toml", "211 body")):
        text = ran("shift", root / "scenarios" / name, "--size", size)
        assert "leave the pack where it is" in text


def test_design_prints_the_answer_beside_todays(swing_file: Path) -> None:
    text = ran("design", swing_file, "--stage", "wash", "--side", "below", "--nozzle-cost", "9")
    rows = [" ".join(line.split()) for line in text.splitlines()]
    assert any(row.startswith("recommended: 211 body 23 63.90 63.7") for row in rows)
    assert any(row.startswith("today's: 211 body 24 57.20 66.5") for row in rows)
    assert any(row.startswith("nearest to lanes: 211 body 28 49.06") for row in rows)
    assert "· drill 23 nozzles 63.90 mm apart, the first 97.5 mm from the mat's left edge" in rows
    assert "spray tip margin" in text
    assert "Isolate and lock out" in text


def test_the_line_saved_has_the_recommended_headers(swing_file: Path, tmp_path: Path) -> None:
    saved = tmp_path / "new.toml"
    words = ("design", swing_file, "--stage", "wash")
    designs = {one["side"]: one for one in data(*words, "--save", saved)["answers"]}
    headers = load_scenario(saved).stage("wash").headers
    for side, one in designs.items():
        rows = one["proposals"][0]["nozzles_mm"]
        mine = sorted((h for h in headers if h.side == side), key=lambda h: h.station_mm)
        assert len(mine) == len(rows) == 4
        for header, row in zip(mine, rows, strict=True):
            np.testing.assert_allclose(header.positions_mm, row, atol=1e-6)
    again = data("check", saved, "--stage", "wash", "--size", "211 body", "--refit", "211 body")
    (check,) = again["answers"]
    for got in check["doses"]:
        side = {"inside": "below", "top": "above"}.get(got["place"])
        if side is not None:
            told = designs[side]["proposals"][0]["doses"][0]
            assert got["even"]["mean"] == pytest.approx(told["mean_mL"], rel=1e-6)


def test_a_name_cannot_become_a_formula(swing_file: Path, tmp_path: Path) -> None:
    evil = tmp_path / "evil.toml"
    text = swing_file.read_text(encoding="utf-8").replace('name = "wash"', 'name = "=1+1[red]"')
    evil.write_text(text, encoding="utf-8")
    case = load_scenario(evil)
    table = check_csv(check_headers(case, ["=1+1[red]"]), Display())
    rows = list(csv.reader(io.StringIO(table)))
    assert {row[0] for row in rows[1:]} == {"'=1+1[red]"}
    assert "=1+1[red]" in ran("check", evil, "--stage", "=1+1[red]")


def test_the_drawing_holds_every_can_nozzle_and_spray_in_millimetres(
    swing_file: Path, tmp_path: Path
) -> None:
    svg = tmp_path / "a.svg"
    ran("check", swing_file, "--stage", "wash", "--size", "211 body", "--svg", svg)
    root = ET.fromstring(svg.read_text(encoding="utf-8"))  # noqa: S314 - our own file
    groups = [(group.get("class"), group) for group in root.findall(f"{SVG}g")]
    circles = [(name, c) for name, group in groups for c in group.findall(f"{SVG}circle")]
    count = Counter(name for name, _ in circles)
    assert count["header-above"] == count["header-below"] == 24
    assert count["footprint-above"] == count["footprint-below"] == 24
    radius = {name: float(c.get("r", "")) for name, c in circles}
    assert radius["can"] == pytest.approx(66.09 / 2.0, abs=0.006)
    spray = (320.0 - 124.3) * math.tan(math.radians(30.0))
    assert radius["footprint-above"] == pytest.approx(spray, abs=0.006)
    assert radius["footprint-below"] == pytest.approx(150 * math.tan(math.radians(25)), abs=0.006)
    places = sorted(float(c.get("cx", "")) for name, c in circles if name == "header-above")
    np.testing.assert_allclose(places, 142.2 + 57.2 * np.arange(24), atol=0.006)
    lanes = [group for name, group in groups if name == "lane"]
    assert sum(len(g.findall(f"{SVG}line")) for g in lanes) == 48


def test_the_dose_chart_adds_up_to_the_dose(swing: Scenario) -> None:
    checks = check_headers(swing)
    stage = least_even(checks)
    axes = dose_chart(checks, Display()).axes[0]
    drawn = [line for line in axes.lines if len(line.get_xdata()) > 2]
    sums = sorted(float(np.sum(line.get_ydata())) for line in drawn)
    want = []
    for check in checks:
        if check.at.stage.name == stage:
            at = check.at
            got = dose(at.lines_mm, at.cans_per_mm, at.stance, at.stage.headers, swing.mat)
            want += [got.inside_mL.sum(), got.top_mL.sum(), got.outside_mL.sum()]
    np.testing.assert_allclose(sums, sorted(want))


def test_the_other_charts_reach_their_minima(swing: Scenario) -> None:
    lines = find_shifts(swing)
    axes = shift_chart(lines, Display()).axes[0]
    curves = [c for c in axes.lines if len(c.get_xdata()) > 2]
    for line, curve in zip(lines, curves, strict=True):
        assert line.joint is not None
        step = np.diff(curve.get_xdata()).max()
        assert line.joint.worst_mm <= min(curve.get_ydata()) + 1e-9
        assert min(curve.get_ydata()) <= line.joint.worst_mm + step
    (design,) = design_headers(swing, ["wash"], wish=DesignWish(side="below"))
    axes = design_chart(design, Display("inch")).axes[0]
    curve = next(c for c in axes.lines if len(c.get_xdata()) > 2)
    # refined to tenths of a millimetre the best gains a little on the scan
    assert np.nanmax(curve.get_ydata()) == pytest.approx(100.0 * design.best.even_share, abs=0.6)
    drawn = [set(np.ravel(c.get_ydata())) for c in axes.lines]
    assert {100.0 * design.bound} in drawn


@pytest.mark.parametrize(
    "kinds",
    [
        {"--json": "json", "--csv": "csv", "--svg": "svg", "--dxf": "dxf", "--pdf": "pdf"},
        pytest.param({"--chart": "png"}, marks=pytest.mark.all),
    ],
)
def test_files_are_written_once_and_again_only_if_asked(
    packsim: Run, swing_file: Path, tmp_path: Path, kinds: dict[str, str]
) -> None:
    files = [tmp_path / f"p.{kind}" for kind in kinds.values()]
    words = ["design", str(swing_file), "--stage", "blow-off"]
    for option, file in zip(kinds, files, strict=True):
        words += [option, str(file)]
    ran(*words)
    first = [file.read_bytes() for file in files]
    again = packsim("nozzles", *words)
    assert again.returncode == 2
    assert "--replace" in again.stderr
    ran(*words, "--replace")
    assert [file.read_bytes() for file in files] == first
    assert len(list(tmp_path.iterdir())) == len(kinds)


BAD = {
    ("check", "--stage", "nope"): "--stage",
    ("check", "--stage", "drain"): "headers",
    ("shift", "--size", "nope"): "--size",
    ("shift", "--error", "-1 mm"): "--error",
    ("shift", "--refit", "nope"): "--refit",
    ("check", "--wander", "-1 mm"): "--wander",
    ("check", "--pressure-off", "200 %"): "--pressure-off",
    ("design", "--pitch", "banana"): "--pitch",
    ("design", "--pitch", "0 mm"): "--pitch",
    ("design", "--weight", "211 body"): "--weight",
    ("design", "--weight", "211 body=0"): "--weight",
    ("design", "--weight", "nope=2"): "--weight",
    ("design", "--most", "0"): "--most",
    ("design", "--most", "3", "--stage", "wash"): "--most",
    ("design", "--aim", "nope"): "--aim",
    ("design", "--side", "left"): "--side",
    ("design", "--stage", "wash", "--side", "below", "--proposal", "nope"): "--proposal",
    ("design", "--stage", "wash", "--pipe-diameter", "0 mm"): "--pipe-diameter",
    ("design", "--tolerance", "-1 mm"): "--tolerance",
    ("design", "--angle", "200 deg"): "--angle",
    ("design", "--pattern", "star", "--stage", "wash"): "--pattern",
    ("design", "--stand-off", "100 mm", "--stage", "wash"): "--stand-off",
    ("design", "--pipe-from", "30 mm", "--pipe-to", "20 mm"): "--pipe-to",
    ("design", "--least-hold", "0.99", "--stage", "rinse", "--side", "below"): "--least-hold",
    ("design", "--svg", "a.dxf"): "--svg",
    ("check", "--chart", "a.pdf"): "--chart",
}


@pytest.mark.parametrize("words", BAD, ids=" ".join)
def test_bad_input_is_refused_by_the_name_of_its_option(
    packsim: Run, words: tuple[str, ...], swing_file: Path
) -> None:
    result = packsim("nozzles", words[0], swing_file, *words[1:])
    assert (result.returncode, result.stdout) == (2, "")
    (line,) = result.stderr.splitlines()
    assert line.startswith(f"packsim nozzles {words[0]}: {BAD[words]}: got ")


def test_lanes_and_stages_in_words() -> None:
    assert lane_words([]) == "–"
    assert lane_words([3, 0, 1]) == "1, 2, 4"
    assert lane_words(range(5)) == "1–5"
    rows = [("a", ("1",)), ("b", ("2",)), ("c", ("1",))]
    table = merged_table("stage", ["x"], rows, ["a", "b", "c"])
    assert [str(row[0]) for row in table._rows] == ["a, c", "b"]


def test_a_line_without_headers_is_told_so(packsim: Run, root: Path) -> None:
    plain = root / "scenarios" / "first_look.toml"
    for command in ("check", "design"):
        refused = packsim("nozzles", command, plain)
        assert refused.returncode == 2
        assert "header" in refused.stderr
