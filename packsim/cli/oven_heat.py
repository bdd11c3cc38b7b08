"""``packsim oven-heat``: what another mat would save in the ovens."""

from __future__ import annotations

from typing import Annotated

import typer

from packsim.cli.options import JsonPath, Replace, ScenarioPath

__all__ = ["oven_heat_command"]


def oven_heat_command(
    scenario: ScenarioPath,
    mat_mass: Annotated[
        str,
        typer.Option(
            "--mat-mass", metavar="MASS", help='Mass per area of the other mat, "0.6 kg/m^2".'
        ),
    ],
    mat_specific_heat: Annotated[
        str,
        typer.Option(
            "--mat-specific-heat",
            metavar="HEAT",
            help='Specific heat of the material of the other mat, "880 J/kg/K".',
        ),
    ],
    name: Annotated[
        str, typer.Option("--name", metavar="NAME", help="What to call the other mat.")
    ] = "the other mat",
    entry: Annotated[
        str | None,
        typer.Option(
            "--entry",
            metavar="TEMPERATURE",
            help="Temperature of cans and mat before the first stage; 25 degC if left out.",
        ),
    ] = None,
    json: JsonPath = None,
    replace: Replace = False,
) -> None:
    """Compare the heat that the mat of an oven carries off with that of another mat."""
    from packsim.cli.outputs import Outputs
    from packsim.flow.mat_heat import ENTRY_C, heat_json, oven_heat_rows
    from packsim.report.terminal.heat_table import heat_report
    from packsim.scenario import load_scenario
    from packsim.scenario.ranges import read_value

    outputs = Outputs(replace, json=json)
    mass = read_value("mat-mass", "area mass", mat_mass, None)
    specific = read_value("mat-specific-heat", "specific heat", mat_specific_heat, None)
    enters = ENTRY_C if entry is None else read_value("entry", "temperature", entry, None)
    case = load_scenario(scenario)
    rows = oven_heat_rows(case, mass, specific, enters)
    outputs.deliver(
        lambda: heat_report(case, rows, name, enters, assumed=entry is None),
        json=lambda: heat_json(case, rows, name),
    )
