"""What is printed, on the screen, the page, the sheet and in the viewer, is the same too."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path

import pytest
from rich.console import Console, RenderableType

from packsim.line import Scenario
from packsim.report.page.page_parts import summary
from packsim.report.terminal.change_sheet import change_sheet
from packsim.report.terminal.study_table import study_report
from packsim.report.terminal.trial_plan_table import plan_report
from packsim.report.terminal.why_table import why_report
from packsim.report.words.display import Display
from packsim.size_change import plan_change
from packsim.trial.plan import plan_trial
from packsim.why import reasons
from tests.shipped import studied
from viewer.line import LoadedLine, answers_of
from viewer.views.answers import answer_rows

SHIPPED = ("first_look.toml", "height_only.toml", "oven_lane.toml", "swing_line.toml")
UNITS = ("metric", "inch")
ROOT = Path(__file__).resolve().parents[2]

Cells = dict[str, str]
"""What is said of a stage and a size: now, worst, allowed, verdict, set to."""


def printed(what: RenderableType) -> list[str]:
    console = Console(width=400, highlight=False, no_color=True)
    with console.capture() as caught:
        console.print(what, markup=False)
    return caught.get().splitlines()


def words(line: str) -> list[str]:
    """Cut a row of a table into its cells, which two blanks or more part."""
    return [cell for cell in re.split(r"\s{2,}", line.strip()) if cell]


def first_screen(name: str, units: str) -> dict[tuple[str, str], Cells]:
    """Read the table of the first screen; stages that read alike share a row."""
    study = studied(name)
    lines = printed(study_report(study, Display(units)))
    sizes = [can.name for can in study.scenario.sizes]
    found: dict[tuple[str, str], Cells] = {}
    start = next(i for i, line in enumerate(lines) if line.startswith("stage"))
    for line in lines[start + 1 :]:
        if not line.strip() or line.startswith("worst/allowed"):
            break
        stages, now, *rest = words(line)
        for size in sizes:
            slacks, verdict, set_to, *rest = rest
            if set_to != "stays" and rest and rest[0].startswith("("):
                rest = rest[1:]
            worst, allowed = slacks.split("/")
            set_to = set_to.replace("*", "").replace("stays", now)
            for stage in stages.split(", "):
                found[stage, size] = {
                    "now": now,
                    "worst": worst,
                    "allowed": allowed,
                    "verdict": verdict,
                    "set to": set_to,
                }
    return found


def page(name: str, units: str) -> dict[tuple[str, str], Cells]:
    """Read the table of each size on the page."""
    study, found = studied(name), {}
    for can in study.scenario.sizes:
        heads, rows = summary(study, can.name, Display(units))
        heads = ["set to" if head.startswith("set to") else head for head in heads]
        for row in rows:
            said = dict(zip(heads, (cell for _, cell in row["cells"]), strict=True))
            found[row["stage"], can.name] = {
                "now": said["clear width"],
                "worst": said["worst-case slack"],
                "verdict": said["verdict"],
                "set to": said["set to"].rstrip("*"),
            }
    return found


def sheets(case: Scenario, units: str) -> dict[tuple[str, str], Cells]:
    """Read the head of each stage on the sheet of the change to each size."""
    found, display = {}, Display(units)
    for can in case.sizes:
        change = plan_change(case, case.set_for, can.name)
        lines = [line for line in printed(change_sheet(change, display)) if "clear width" in line]
        for stage, line in zip(change.stages, lines, strict=True):
            width = re.search(r"clear width (.+?) (?:mm|in) \(", line)
            assert width is not None, line
            now, _, new = width[1].partition(" → ")
            found[stage.found.name, can.name] = {"now": now, "set to": new or now}
    return found


def plans(case: Scenario, units: str) -> dict[tuple[str, str], Cells]:
    """Read the table of each trial plan: the line as found and as recommended."""
    found = {}
    for can in case.sizes:
        plan = plan_trial(case, can.name)
        lines = [words(line) for line in printed(plan_report(plan, Display(units)))]
        best = next((s for s in plan.settings if s.why.startswith("recommended")), None)
        for stage in plan.stages:
            row = next(cells for cells in lines if cells and cells[0] == stage.stage)
            cells = row[-len(plan.settings) :]
            said = {"now": cells[0]}
            if best is not None:
                said["set to"] = cells[plan.settings.index(best)]
            found[stage.stage, can.name] = said
    return found


def panels(case: Scenario) -> dict[tuple[str, str], Cells]:
    """Read the answers of the viewer; it shows metric units only."""
    found = {}
    for can in case.sizes:
        loaded = LoadedLine(case, can.name)
        for answer in answers_of(loaded):
            said = {name: value for name, value, _ in answer_rows(answer, loaded, Display())}
            worst, allowed = said["worst/allowed slack"].removesuffix(" mm").split("/")
            cells = {"worst": worst, "allowed": allowed, "verdict": said["verdict"]}
            if not said["set to"].startswith("stays"):
                cells["set to"] = said["set to"].split()[0].rstrip("*,")
            found[answer.stage, can.name] = cells
    return found


@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize("name", SHIPPED)
def test_the_words_agree(name: str, units: str) -> None:
    case = studied(name).scenario
    screen = first_screen(name, units)
    assert len(screen) == len(case.stages) * len(case.sizes)
    others = [page(name, units), sheets(case, units), plans(case, units)]
    if units == "metric":
        others.append(panels(case))
    for other in others:
        assert other.keys() == screen.keys()
        for place, said in other.items():
            assert said == {key: screen[place][key] for key in said}, place


@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize("name", SHIPPED)
def test_why_ends_at_what_study_says(name: str, units: str) -> None:
    case, screen = studied(name).scenario, first_screen(name, units)
    for can in case.sizes:
        stage = case.stages[-1].name
        lines = printed(why_report(reasons(case, stage, can.name), Display(units)))
        rows = {cells[0]: cells[1] for line in lines if len(cells := words(line)) > 1}
        said = screen[stage, can.name]
        assert rows["verdict"] == said["verdict"]
        assert rows["allowed slack"] == said["allowed"]
        assert rows["worst-case slack"].split(" ")[0] == said["worst"]


@pytest.mark.parametrize("name", SHIPPED)
def test_inches_say_the_same_as_millimetres(name: str) -> None:
    """To half a digit of the last place of either; what is set, to half a mark of the rule."""
    metric, inch = (first_screen(name, units) for units in UNITS)
    assert metric.keys() == inch.keys()
    for place, mm in metric.items():
        inches = inch[place]
        assert mm["verdict"] == inches["verdict"]
        for key in ("worst", "allowed"):
            assert abs(25.4 * float(inches[key]) - float(mm[key])) <= 0.05 + 0.0005 * 25.4
        for key in ("now", "set to"):
            assert abs(25.4 * in_inches(inches[key]) - float(mm[key])) <= 0.05 + 25.4 / 64.0


def in_inches(text: str) -> float:
    """Read a place on a rule: whole inches and a fraction, a little over or under the mark."""
    return float(sum(map(Fraction, text.strip("+−").split())))
