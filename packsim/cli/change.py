"""``packsim change``: the sheet for going from one can size to another."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import typer

from packsim.cli.options import (
    CsvPath,
    FittedPath,
    HtmlPath,
    JsonPath,
    Replace,
    ScenarioPath,
    Units,
    UnitsOption,
    size_names,
)

__all__ = ["Keep", "change_command"]


class Keep(StrEnum):
    """What a size change leaves as it is."""

    rate = "rate"
    dwell = "dwell"


def change_command(
    scenario: ScenarioPath,
    to: Annotated[
        str,
        typer.Option(
            "--to", metavar="SIZE", autocompletion=size_names, help="Can size to change to."
        ),
    ],
    from_: Annotated[
        str | None,
        typer.Option(
            "--from",
            metavar="SIZE",
            autocompletion=size_names,
            help="Can size that runs now; the one the guides are set for if left out.",
        ),
    ] = None,
    keep: Annotated[
        Keep, typer.Option("--keep", help="Keep the cans per minute (rate), or the mat speed.")
    ] = Keep.rate,
    step: Annotated[
        str | None,
        typer.Option(
            "--step",
            metavar="LENGTH",
            help='Smallest step of your rule, such as "0.5 mm" or "1/32 in". If left out: each '
            "stage's setting step, or 1/32 in with --units inch.",
        ),
    ] = None,
    units: UnitsOption = Units.metric,
    fitted: FittedPath = None,
    html: HtmlPath = None,
    csv: CsvPath = None,
    json: JsonPath = None,
    save: Annotated[
        str | None,
        typer.Option(
            "--save",
            metavar="FILE",
            help="Write the scenario as it stands after the change; it keeps the old setting.",
        ),
    ] = None,
    replace: Replace = False,
) -> None:
    """Plan a size change: every bracket, wire and hold-down move, the speed, what to read first."""
    from packsim.cli.outputs import Outputs, progress_bar
    from packsim.report.files.change_csv import change_csv
    from packsim.report.page.page_change import change_page
    from packsim.report.terminal.change_sheet import change_sheet
    from packsim.report.words.change_words import default_step_mm
    from packsim.report.words.display import Display
    from packsim.scenario import load_scenario, scenario_to_toml
    from packsim.scenario.ranges import read_value
    from packsim.size_change import apply_change, plan_change
    from packsim.size_change.plain import change_json

    outputs = Outputs(replace, html=html, csv=csv, json=json, save=save)
    display = Display(units)
    step_mm = default_step_mm(display)
    if step is not None:
        step_mm = read_value("step", "length", step, units)
    case = load_scenario(scenario, fitted=fitted)
    sizes = case.size(from_, "from").name, case.size(to, "to").name
    with progress_bar("planning") as tick:
        change = plan_change(case, *sizes, keep.value, step_mm, progress=tick)
    outputs.deliver(
        lambda: change_sheet(change, display),
        html=lambda: change_page(change, display),
        csv=lambda: change_csv(change, display),
        json=lambda: change_json(change),
        save=lambda: scenario_to_toml(apply_change(case, change)),
    )
