"""``packsim sweep``: turn one thing through a range and see every answer follow."""

from __future__ import annotations

from typing import Annotated

import typer

from packsim.cli.options import FittedPath, JsonPath, Replace, ScenarioPath, Units, UnitsOption

__all__ = ["sweep_command"]

Over = Annotated[
    str,
    typer.Option(
        "--over",
        help="What to turn: clear-width, wire-height, tension, shift, fill, dome-pool, pressure, "
        "pressure-above, pressure-below, hold-down, pack-pressure, temperature, nozzle-pitch.",
    ),
]
From = Annotated[str, typer.Option("--from", help='First value, e.g. "1380 mm".')]
To = Annotated[str, typer.Option("--to", help='Last value, e.g. "1420 mm".')]
Steps = Annotated[int, typer.Option("--steps", help="Number of values, both ends included.")]
StageName = Annotated[
    str | None, typer.Option("--stage", help="Stage; the one with least safe slack if left out.")
]
SizeName = Annotated[
    str | None, typer.Option("--size", help="Can size; the one the guides are set for if left out.")
]
CsvPath = Annotated[
    str | None, typer.Option("--csv", metavar="PATH", help="Write CSV; - for stdout.")
]
ChartPath = Annotated[
    str | None, typer.Option("--chart", metavar="PATH", help="Draw a chart (.svg or .png).")
]
Show = Annotated[
    str,
    typer.Option(
        "--show",
        help="What the chart shows: index, slack, margin, chance, misalignment, hold-down.",
    ),
]


def sweep_command(
    scenario: ScenarioPath,
    over: Over,
    from_: From,
    to: To,
    steps: Steps = 21,
    stage: StageName = None,
    size: SizeName = None,
    units: UnitsOption = Units.metric,
    fitted: FittedPath = None,
    csv_path: CsvPath = None,
    json_path: JsonPath = None,
    chart_path: ChartPath = None,
    show: Show = "index",
    replace: Replace = False,
) -> None:
    """Answer one stage and size over a range of one setting: table, CSV, JSON and chart."""
    from packsim.cli.out import (
        check_chart,
        check_output,
        emit_chart,
        emit_json,
        emit_text,
        print_to_terminal,
        progress_bar,
    )
    from packsim.report.charts.sweep_chart import sweep_chart
    from packsim.report.terminal.sweep_view import sweep_csv, sweep_json, sweep_table
    from packsim.report.words.display import Display
    from packsim.scenario import load_scenario
    from packsim.scenario.ranges import read_range
    from packsim.sweep import governing_stage, knob, sweep

    for path in (csv_path, json_path):
        check_output(path, replace=replace)
    check_chart(chart_path, replace=replace)
    case = load_scenario(scenario, fitted=fitted)
    values = read_range(knob(over).kind, from_, to, steps)
    which = case.set_for if size is None else size
    where = governing_stage(case, which) if stage is None else stage
    with progress_bar("sweeping") as tick:
        found = sweep(case, over, values, where, which, tick)
    display = Display(units.value)
    if csv_path is not None:
        emit_text(sweep_csv(found), csv_path, replace=replace)
    if json_path is not None:
        emit_json(sweep_json(found), json_path, replace=replace)
    if chart_path is not None:
        emit_chart(sweep_chart(found, display, show), chart_path, replace=replace)
    if "-" not in (csv_path, json_path):
        print_to_terminal(sweep_table(found, display))
