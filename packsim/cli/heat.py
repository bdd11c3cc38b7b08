"""``packsim heat``: what another oven mat would save."""

from __future__ import annotations

from typing import Annotated

import typer

from packsim.cli.options import JsonPath, Replace, ScenarioPath
from packsim.cli.reading import check_outputs, read_option

__all__ = ["heat_command"]


def heat_command(
    scenario: ScenarioPath,
    mat_mass: Annotated[
        str,
        typer.Option("--mat-mass", metavar="MASS", help='Mass per area, "0.6 kg/m^2".'),
    ],
    mat_specific_heat: Annotated[
        str,
        typer.Option("--mat-specific-heat", metavar="HEAT", help='Of its stuff, "880 J/kg/K".'),
    ],
    name: Annotated[
        str, typer.Option("--name", metavar="NAME", help="What to call the other mat.")
    ] = "the other mat",
    entry: Annotated[
        str | None,
        typer.Option(
            "--entry",
            metavar="TEMPERATURE",
            help="Temperature of cans and mat before the first stage; 25 degC where left out.",
        ),
    ] = None,
    json_path: JsonPath = None,
    replace: Replace = False,
) -> None:
    """Compare the heat the present oven mat takes with that of another mat."""
    from packsim.cli.out import emit_json, print_to_terminal
    from packsim.flow.mat_heat import ENTRY_C, heat_json, oven_heat_rows
    from packsim.report.terminal.heat_table import heat_report
    from packsim.scenario import load_scenario
    from packsim.scenario.kinds import AREA_MASS, HEAT, TEMPERATURE

    check_outputs((json_path,), replace=replace)
    mass = read_option("--mat-mass", mat_mass, AREA_MASS)
    specific = read_option("--mat-specific-heat", mat_specific_heat, HEAT)
    enters = ENTRY_C if entry is None else read_option("--entry", entry, TEMPERATURE)
    case = load_scenario(scenario)
    rows = oven_heat_rows(case, mass, specific, enters)
    if json_path is not None:
        emit_json(heat_json(case, rows, name), json_path, replace=replace)
    if json_path != "-":
        print_to_terminal(heat_report(case, rows, name, enters, assumed=entry is None))
