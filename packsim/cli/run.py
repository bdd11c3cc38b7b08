"""``packsim run``: carry the pack through every stage, can by can, and count."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from packsim.cli.options import (
    FittedPath,
    JsonPath,
    Replace,
    ScenarioPath,
    Units,
    UnitsOption,
)
from packsim.errors import InputError

if TYPE_CHECKING:
    from packsim.line import Scenario
    from packsim.report.terminal.run_view import RunCase
    from packsim.report.words.display import Display

__all__ = ["run_command"]

CANS = 5000
"""Cans to follow when nobody says how many."""

FRAME_EVERY_S = 2.0
"""Time between the frames of a kept passage [s]."""

Cans = Annotated[
    int | None, typer.Option("--cans", help="Cans to follow in each run; 5000 if left out.")
]
Slice = Annotated[
    str | None,
    typer.Option(
        "--slice",
        metavar="LENGTH",
        help="Follow a slice of pack of this length, closed on itself, instead of a full line: "
        "quicker, but blind to what moves along the line.",
    ),
]
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
VoidsPath = Annotated[
    str | None,
    typer.Option("--voids", metavar="PATH", help="Draw voids along the line (.svg or .png)."),
]
PlacesPath = Annotated[
    str | None,
    typer.Option("--places", metavar="PATH", help="Draw tips by stage and place (.svg or .png)."),
]
RecordPath = Annotated[
    str | None,
    typer.Option("--record", metavar="PATH", help="Keep one passage with its frames (.npz)."),
]


def run_command(
    scenario: ScenarioPath,
    cans: Cans = None,
    slice_length: Slice = None,
    repeats: Repeats = 4,
    seed: Seed = None,
    workers: Workers = 1,
    size: SizeName = None,
    guides: Guides = None,
    fitted: FittedPath = None,
    can_friction: Friction = 0.0,
    units: UnitsOption = Units.metric,
    json_path: JsonPath = None,
    chart_path: ChartPath = None,
    places_path: PlacesPath = None,
    profile_path: ProfilePath = None,
    voids_path: VoidsPath = None,
    record_path: RecordPath = None,
    replace: Replace = False,
) -> None:
    """Carry packs through the whole line, can by can, and count what tips where."""
    from packsim.cli.out import check_chart, check_output, emit_json, print_to_terminal
    from packsim.report.terminal.run_view import run_json, run_report
    from packsim.report.words.display import Display
    from packsim.scenario import load_scenario

    charts = {
        "counts": chart_path,
        "places": places_path,
        "slack": profile_path,
        "voids": voids_path,
    }
    for path in (json_path, record_path):
        check_output(path, replace=replace)
    for path in charts.values():
        check_chart(path, replace=replace)
    amount = _amount(cans, slice_length, repeats, workers)
    case = load_scenario(scenario, fitted=fitted)
    which = case.set_for if size is None else case.size(size).name
    settings = {name: _set(case, which, name) for name in guides or ["as-set"]}
    number = case.seed if seed is None else seed
    cases = _counted(settings, which, number, amount, can_friction)
    display = Display(units.value)
    if json_path is not None:
        emit_json(run_json(cases), json_path, replace=replace)
    _draw(cases, charts, display, replace=replace)
    if record_path is not None and not cases[-1].passages.interrupted:
        first = next(iter(settings.values()))
        _keep(first, which, number, amount, can_friction, record_path, replace)
    if json_path != "-":
        print_to_terminal(run_report(cases, display))


@dataclass(frozen=True, slots=True)
class _Amount:
    """How much is run."""

    cans: int | None
    slice_mm: float | None
    repeats: int
    workers: int


def _amount(cans: int | None, slice_length: str | None, repeats: int, workers: int) -> _Amount:
    if slice_length is None:
        return _Amount(CANS if cans is None else cans, None, repeats, workers)
    if cans is not None:
        raise InputError("--cans", cans, "no number of cans with --slice: its length says how many")
    from packsim.scenario.ranges import read_value

    return _Amount(None, read_value("--slice", "length", slice_length), repeats, workers)


def _set(case: Scenario, size: str, name: str) -> Scenario:
    from packsim.scenario.ranges import read_value
    from packsim.study.widths import at_width, at_window

    if name == "as-set":
        return case
    if name == "window":
        return at_window(case, size)
    return at_width(case, read_value("guides", "length", name))


def _counted(
    settings: dict[str, Scenario], size: str, seed: int, amount: _Amount, can_friction: float
) -> list[RunCase]:
    from packsim.cli.out import progress_bar
    from packsim.passage.loaded_track import loaded_track
    from packsim.passage.many import run_tracks
    from packsim.report.terminal.run_view import RunCase

    cases = []
    for name, case in settings.items():
        track = loaded_track(case, size, can_friction)
        with progress_bar(f"carrying cans, guides {name}") as tick:
            passages = run_tracks(
                track,
                size,
                cans=amount.cans,
                slice_mm=amount.slice_mm,
                repeats=amount.repeats,
                seed=seed,
                workers=amount.workers,
                progress=tick,
            )
        cases.append(RunCase(f"guides {name}", case, passages))
        if passages.interrupted:
            break
    return cases


def _draw(
    cases: list[RunCase], paths: dict[str, str | None], display: Display, *, replace: bool
) -> None:
    """Draw the charts that were asked for; there is nothing to draw before a run is done."""
    if not any(paths.values()):
        return
    from packsim.cli.out import emit_chart
    from packsim.report.charts.run_charts import (
        run_chart,
        run_places_chart,
        run_slack_chart,
        run_void_chart,
    )

    if not any(case.passages.counted for case in cases):
        typer.echo("no chart: no can went through", err=True)
        return
    drawn = {
        "counts": lambda: run_chart(cases),
        "places": lambda: run_places_chart(cases),
        "slack": lambda: run_slack_chart(cases, display),
        "voids": lambda: run_void_chart(cases),
    }
    for name, path in paths.items():
        if path is not None:
            emit_chart(drawn[name](), path, replace=replace)


def _keep(
    case: Scenario,
    size: str,
    seed: int,
    amount: _Amount,
    can_friction: float,
    path: str,
    replace: bool,
) -> None:
    from packsim.cli.out import progress_bar
    from packsim.passage.loaded_track import loaded_track
    from packsim.passage.run import run_passage
    from packsim.passage.store import save_record
    from packsim.report.files.write import check_target
    from packsim.scenario import scenario_to_toml

    place = Path(path)
    check_target(place, replace=replace)
    track = loaded_track(case, size, can_friction)
    with progress_bar("keeping one passage") as tick:
        record = run_passage(
            track,
            seed=seed,
            cans=amount.cans,
            slice_mm=amount.slice_mm,
            size=size,
            scenario=scenario_to_toml(case),
            frame_every_s=FRAME_EVERY_S,
            progress=lambda share: tick(share, 1),
        )
    save_record(record, place)
