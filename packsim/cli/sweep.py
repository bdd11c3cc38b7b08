"""``packsim sweep``: one setting over a range."""

from __future__ import annotations

from typing import Annotated

import typer

from packsim.cli.options import (
    ChartPath,
    CsvPath,
    FittedPath,
    JsonPath,
    Replace,
    ScenarioPath,
    SizeName,
    StageName,
    Units,
    UnitsOption,
)

__all__ = ["sweep_command"]


def _knob_names() -> list[str]:
    from packsim.sweep import KNOBS

    return [knob.name for knob in KNOBS]


Over = Annotated[
    str,
    typer.Option(
        "--over",
        metavar="NAME",
        autocompletion=_knob_names,
        help="Setting to vary: clear-width, wire-height, tension, shift, fill, dome-pool, "
        "pressure, pressure-above, pressure-below, hold-down, pack-pressure, temperature, "
        "nozzle-pitch.",
    ),
]
Lowest = Annotated[
    str, typer.Option("--lowest", metavar="VALUE", help='First value, such as "1380 mm".')
]
Highest = Annotated[
    str, typer.Option("--highest", metavar="VALUE", help='Last value, such as "1420 mm".')
]
Steps = Annotated[int, typer.Option("--steps", help="Number of values, both ends included.")]
Show = Annotated[
    str,
    typer.Option(
        "--show",
        metavar="NAME",
        help="What the chart shows: index, slack, margin, chance, misalignment, hold-down.",
    ),
]


def sweep_command(
    scenario: ScenarioPath,
    over: Over,
    lowest: Lowest,
    highest: Highest,
    steps: Steps = 21,
    stage: StageName = None,
    size: SizeName = None,
    units: UnitsOption = Units.metric,
    fitted: FittedPath = None,
    csv: CsvPath = None,
    json: JsonPath = None,
    chart: ChartPath = None,
    show: Show = "index",
    replace: Replace = False,
) -> None:
    """Change one setting over a range and see every result for one stage and size."""
    from packsim.cli.outputs import Outputs, progress_bar
    from packsim.report.charts.sweep_chart import sweep_chart
    from packsim.report.terminal.sweep_view import sweep_csv, sweep_json, sweep_table
    from packsim.report.words.display import Display
    from packsim.scenario import load_scenario
    from packsim.scenario.ranges import read_range
    from packsim.sweep import knob, stage_and_size, sweep

    outputs = Outputs(replace, csv=csv, json=json, chart=chart)
    values = read_range(knob(over).kind, lowest, highest, steps, units)
    case = load_scenario(scenario, fitted=fitted)
    with progress_bar("sweeping") as tick:
        found = sweep(case, over, values, *stage_and_size(case, stage, size), tick)
    display = Display(units)
    outputs.deliver(
        lambda: sweep_table(found, display),
        csv=lambda: sweep_csv(found),
        json=lambda: sweep_json(found),
        chart=lambda: sweep_chart(found, display, show),
    )
