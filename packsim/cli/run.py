"""``packsim run``: carry the pack through every stage, can by can, and count."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Annotated, Any

import typer

from packsim.cli.options import (
    ChartPath,
    FittedPath,
    Guides,
    JsonPath,
    Replace,
    ScenarioPath,
    SizeName,
    Units,
    UnitsOption,
)

__all__ = ["run_command"]


def run_command(
    scenario: ScenarioPath,
    cans: Annotated[
        int | None, typer.Option("--cans", help="Cans to follow in each run; 5000 if left out.")
    ] = None,
    slice_: Annotated[
        str | None,
        typer.Option(
            "--slice",
            metavar="LENGTH",
            help="Simulate a repeating slice of this length instead of the whole line: faster, but "
            "changes along the line are not seen.",
        ),
    ] = None,
    repeats: Annotated[
        int, typer.Option("--repeats", help="Runs, each with a seed of its own.")
    ] = 4,
    seed: Annotated[
        int | None, typer.Option("--seed", help="Seed; the scenario's own if left out.")
    ] = None,
    workers: Annotated[
        int, typer.Option("--workers", help="Processes; the result does not depend on it.")
    ] = 1,
    size: SizeName = None,
    guides: Guides = None,
    fitted: FittedPath = None,
    can_friction: Annotated[
        float, typer.Option("--can-friction", help="Friction between cans.")
    ] = 0.0,
    units: UnitsOption = Units.metric,
    json: JsonPath = None,
    chart: ChartPath = None,
    places: Annotated[
        str | None,
        typer.Option(
            "--places", metavar="FILE", help="Draw tips by stage and place (.svg or .png)."
        ),
    ] = None,
    profile: Annotated[
        str | None,
        typer.Option(
            "--profile", metavar="FILE", help="Draw the slack along the line (.svg or .png)."
        ),
    ] = None,
    voids: Annotated[
        str | None,
        typer.Option(
            "--voids", metavar="FILE", help="Draw the voids along the line (.svg or .png)."
        ),
    ] = None,
    record: Annotated[
        str | None,
        typer.Option("--record", metavar="FILE", help="Keep one passage to play back (.npz)."),
    ] = None,
    replace: Replace = False,
) -> None:
    """Simulate packs through the whole line, can by can, and count what tips where."""
    from packsim.cli.outputs import Outputs, progress_bar
    from packsim.passage.order import Order
    from packsim.passage.store import save_record
    from packsim.report.charts import run_charts
    from packsim.report.terminal.run_view import RunCase, run_json, run_report
    from packsim.report.words.display import Display
    from packsim.scenario import load_scenario, scenario_to_toml
    from packsim.scenario.guide_setting import settings
    from packsim.scenario.ranges import read_value

    pictures: dict[str, Any] = {
        "chart": chart,
        "places": places,
        "profile": profile,
        "voids": voids,
    }
    outputs = Outputs(replace, json=json, record=record, **pictures)
    length_mm = None if slice_ is None else read_value("slice", "length", slice_, units)
    order = Order(size, seed, cans, length_mm, repeats, workers, can_friction)
    line = load_scenario(scenario, fitted=fitted)
    lines = settings(line, line.size(size).name, guides or ("as-set",), units)
    cases: list[RunCase] = []
    for name, setting in lines.items():
        with progress_bar(f"simulating, guides {name}") as tick:
            cases.append(RunCase(f"guides {name}", setting, order.count(setting, tick)))
        if cases[-1].passages.interrupted:
            break

    def kept() -> Callable[[Path], None]:
        with progress_bar("keeping one passage") as tick:
            first = cases[0].scenario
            return partial(save_record, order.keep(first, scenario_to_toml(first), tick))

    display = Display(units)
    made: dict[str, Callable[[], Any]] = {"json": lambda: run_json(cases)}
    if any(case.passages.counted for case in cases):
        made["chart"] = lambda: run_charts.run_chart(cases)
        made["places"] = lambda: run_charts.run_places_chart(cases)
        made["profile"] = lambda: run_charts.run_slack_chart(cases, display)
        made["voids"] = lambda: run_charts.run_void_chart(cases)
    elif any(pictures.values()):
        typer.echo("no chart: no can went through", err=True)
    if not cases[-1].passages.interrupted:
        made["record"] = kept
    outputs.deliver(lambda: run_report(cases, display), **made)
