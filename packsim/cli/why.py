"""``packsim why``: every term behind the answers about one stage and size."""

from __future__ import annotations

from typing import Annotated

import typer

from packsim.cli.options import FittedPath, JsonPath, Replace, ScenarioPath, Units, UnitsOption

__all__ = ["why_command"]


def why_command(
    scenario: ScenarioPath,
    stage: Annotated[
        str | None,
        typer.Option("--stage", help="Stage; the one with least safe slack if left out."),
    ] = None,
    size: Annotated[
        str | None,
        typer.Option("--size", help="Can size; the one the guides are set for if left out."),
    ] = None,
    units: UnitsOption = Units.metric,
    fitted: FittedPath = None,
    json_path: JsonPath = None,
    replace: Replace = False,
) -> None:
    """Say why: how wide, how high, how much slack, term by term, for one stage and size."""
    from packsim.cli.out import check_output, emit_json, print_to_terminal
    from packsim.report.terminal.why_table import why_report
    from packsim.report.words.display import Display
    from packsim.scenario import load_scenario
    from packsim.sweep import governing_stage
    from packsim.why import reasons, reasons_json

    check_output(json_path, replace=replace)
    case = load_scenario(scenario, fitted=fitted)
    which = case.set_for if size is None else size
    where = governing_stage(case, which) if stage is None else stage
    found = reasons(case, where, which)
    if json_path is not None:
        emit_json(reasons_json(found), json_path, replace=replace)
    if json_path != "-":
        print_to_terminal(why_report(found, Display(units.value)))
