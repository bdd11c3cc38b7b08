"""``packsim run``: carry the pack through every stage, can by can, and count."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from packsim.cli.options import JsonPath, Replace, ScenarioPath, Units, UnitsOption

if TYPE_CHECKING:
    from packsim.line import Scenario
    from packsim.report.run_view import RunCase

__all__ = ["run_command"]

Cans = Annotated[int, typer.Option("--cans", help="Cans to follow in each run.")]
Repeats = Annotated[int, typer.Option("--repeats", help="Runs, each with a seed of its own.")]
Seed = Annotated[int | None, typer.Option("--seed", help="Seed; the scenario's own if left out.")]
Workers = Annotated[
    int, typer.Option("--workers", help="Processes; the result does not depend on it.")
]
SizeName = Annotated[
    str | None, typer.Option("--size", help="Can size; the one the guides are set for if left out.")
]
Guides = Annotated[
    list[str] | None,
    typer.Option(
        "--guides",
        help='Guide setting: "as-set", "window" (the middle of each stage\'s guide window), or a '
        "clear width; give it twice to compare.",
    ),
]
Friction = Annotated[float, typer.Option("--can-friction", help="Friction between cans.")]
ChartPath = Annotated[
    str | None, typer.Option("--chart", metavar="PATH", help="Draw the counts (.svg or .png).")
]
ProfilePath = Annotated[
    str | None,
    typer.Option("--profile", metavar="PATH", help="Draw slack along the line (.svg or .png)."),
]
RecordPath = Annotated[
    str | None,
    typer.Option("--record", metavar="PATH", help="Keep one passage with its frames (.npz)."),
]


def run_command(
    scenario: ScenarioPath,
    cans: Cans = 5000,
    repeats: Repeats = 4,
    seed: Seed = None,
    workers: Workers = 1,
    size: SizeName = None,
    guides: Guides = None,
    can_friction: Friction = 0.0,
    units: UnitsOption = Units.metric,
    json_path: JsonPath = None,
    chart_path: ChartPath = None,
    profile_path: ProfilePath = None,
    record_path: RecordPath = None,
    replace: Replace = False,
) -> None:
    """Carry packs through the whole line, can by can, and count what tips where."""
    from packsim.cli.out import (
        check_chart,
        check_output,
        emit_chart,
        emit_json,
        print_to_terminal,
    )
    from packsim.report.display import Display
    from packsim.report.run_view import run_chart, run_json, run_profile_chart, run_report
    from packsim.scenario import load_scenario

    for path in (json_path, record_path):
        check_output(path, replace=replace)
    for path in (chart_path, profile_path):
        check_chart(path, replace=replace)
    case = load_scenario(scenario)
    which = case.set_for if size is None else case.size(size).name
    settings = {name: _set(case, which, name) for name in guides or ["as-set"]}
    number = case.seed if seed is None else seed
    cases = _counted(settings, which, number, (cans, repeats, workers), can_friction)
    display = Display(units.value)
    if json_path is not None:
        emit_json(run_json(cases), json_path, replace=replace)
    if chart_path is not None:
        emit_chart(run_chart(cases), chart_path, replace=replace)
    if profile_path is not None:
        emit_chart(run_profile_chart(cases, display), profile_path, replace=replace)
    if record_path is not None:
        first = next(iter(settings.values()))
        _keep(first, which, number, cans, can_friction, record_path, replace)
    if json_path != "-":
        print_to_terminal(run_report(cases, display))


def _set(case: Scenario, size: str, name: str) -> Scenario:
    from packsim.scenario.ranges import read_value
    from packsim.studies.widths import at_width, at_window

    if name == "as-set":
        return case
    if name == "window":
        return at_window(case, size)
    return at_width(case, read_value("guides", "length", name))


def _counted(
    settings: dict[str, Scenario],
    size: str,
    seed: int,
    amount: tuple[int, int, int],
    can_friction: float,
) -> list[RunCase]:
    from packsim.cli.out import progress_bar
    from packsim.passage.many import run_tracks
    from packsim.report.run_view import RunCase
    from packsim.setup import loaded_track

    cans, repeats, workers = amount
    cases = []
    for name, case in settings.items():
        track = loaded_track(case, size, can_friction)
        with progress_bar(f"carrying cans, guides {name}") as tick:
            passages = run_tracks(
                track, size, cans=cans, repeats=repeats, seed=seed, workers=workers, progress=tick
            )
        cases.append(RunCase(f"guides {name}", case, passages))
        if passages.interrupted:
            break
    return cases


def _keep(
    case: Scenario, size: str, seed: int, cans: int, can_friction: float, path: str, replace: bool
) -> None:
    from packsim.passage.run import run_passage
    from packsim.passage.store import save_record
    from packsim.report.files import check_target
    from packsim.scenario import scenario_to_toml
    from packsim.setup import loaded_track

    place = Path(path)
    check_target(place, replace=replace)
    track = loaded_track(case, size, can_friction)
    record = run_passage(
        track, seed=seed, cans=cans, size=size, scenario=scenario_to_toml(case), frame_every_s=2.0
    )
    save_record(record, place)
