"""``packsim change``: the sheet for going from one can size to another."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

import typer

from packsim.cli.options import FittedPath, JsonPath, Replace, ScenarioPath, Units, UnitsOption
from packsim.cli.reading import check_outputs, read_option
from packsim.errors import InputError

if TYPE_CHECKING:
    from packsim.line import Scenario

__all__ = ["Keep", "change_command"]


class Keep(StrEnum):
    """What a size change leaves as it is."""

    rate = "rate"
    dwell = "dwell"


def change_command(
    scenario: ScenarioPath,
    to_size: Annotated[
        str, typer.Option("--to", metavar="SIZE", help="Can size to change to, by its name.")
    ],
    from_size: Annotated[
        str | None,
        typer.Option(
            "--from", metavar="SIZE", help="Can size that runs now; else the one it is set for."
        ),
    ] = None,
    keep: Annotated[
        Keep, typer.Option("--keep", help="Keep the cans per minute, or mat speed and dwell.")
    ] = Keep.rate,
    step: Annotated[
        str | None,
        typer.Option(
            "--step",
            metavar="LENGTH",
            help='Step of your rule, "1/32 in" or "0.5 mm"; else each stage\'s setting step, or '
            "1/32 in with --units inch.",
        ),
    ] = None,
    units: UnitsOption = Units.metric,
    fitted: FittedPath = None,
    html_path: Annotated[
        str | None,
        typer.Option("--html", metavar="PATH", help="Write the sheet to print; - for stdout."),
    ] = None,
    csv_path: Annotated[
        str | None,
        typer.Option("--csv", metavar="PATH", help="Write the moves as CSV; - for stdout."),
    ] = None,
    json_path: JsonPath = None,
    save_path: Annotated[
        str | None,
        typer.Option(
            "--save",
            metavar="PATH",
            help="Write the scenario as it stands after the change, old settings on record.",
        ),
    ] = None,
    replace: Replace = False,
) -> None:
    """Plan a size change: every bracket, wire and hold-down move, speed, and what to know first."""
    from packsim.cli.out import emit_json, emit_text, print_to_terminal, progress_bar
    from packsim.report.files.change_csv import change_csv
    from packsim.report.page.page_change import change_page
    from packsim.report.terminal.change_sheet import change_sheet
    from packsim.report.words.change_words import default_step_mm
    from packsim.report.words.display import Display
    from packsim.scenario import load_scenario, scenario_to_toml
    from packsim.scenario.kinds import LENGTH
    from packsim.size_change import apply_change, plan_change
    from packsim.size_change.plain import change_json

    outputs = (html_path, csv_path, json_path, save_path)
    check_outputs(outputs, replace=replace)
    display = Display(units.value)
    step_mm = default_step_mm(display) if step is None else read_option("--step", step, LENGTH)
    case = load_scenario(scenario, fitted=fitted)
    leaves = case.set_for if from_size is None else from_size
    _known(case, {"--from": leaves, "--to": to_size})
    with progress_bar("planning") as tick:
        change = plan_change(case, leaves, to_size, keep.value, step_mm, progress=tick)
    if html_path is not None:
        emit_text(change_page(change, display), html_path, replace=replace)
    if csv_path is not None:
        emit_text(change_csv(change, display), csv_path, replace=replace)
    if json_path is not None:
        emit_json(change_json(change), json_path, replace=replace)
    if save_path is not None:
        after = scenario_to_toml(apply_change(case, change))
        emit_text(after, save_path, replace=replace)
    if "-" not in outputs:
        print_to_terminal(change_sheet(change, display))


def _known(case: Scenario, sizes: dict[str, str]) -> None:
    """Refuse a size the scenario has not, by the option it came with."""
    for option, name in sizes.items():
        try:
            case.size(name)
        except InputError as unknown:
            raise InputError(option, unknown.got, unknown.allowed) from None
