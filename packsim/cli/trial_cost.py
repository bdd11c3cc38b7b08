"""``packsim trial cost``: what an adjustment saves in a year, at the user's own figures."""

from __future__ import annotations

from typing import Annotated

import typer

from packsim.cli.options import FittedPath, JsonPath, Replace, ScenarioPath, Units, UnitsOption
from packsim.cli.reading import read_width

__all__ = ["cost_command"]

SizeName = Annotated[
    str | None, typer.Option("--size", help="Can size; the one the guides are set for if left out.")
]


def cost_command(
    scenario: ScenarioPath,
    after: Annotated[
        str, typer.Option("--after", help='Clear width of every stage after, e.g. "1376 mm".')
    ],
    hours_per_year: Annotated[
        float, typer.Option("--hours-per-year", help="Running hours of this size in a year.")
    ],
    fitted: FittedPath = None,
    before: Annotated[
        str | None, typer.Option("--before", help="Clear width before; as set if left out.")
    ] = None,
    size: SizeName = None,
    cost_per_can: Annotated[
        float | None, typer.Option("--cost-per-can", help="Your cost of one tipped can.")
    ] = None,
    adjustment_cost: Annotated[
        float | None, typer.Option("--adjustment-cost", help="Your cost of the adjustment.")
    ] = None,
    units: UnitsOption = Units.metric,
    json_path: JsonPath = None,
    replace: Replace = False,
) -> None:
    """Compare the spoilage of two settings in a year, in cans and at your own cost."""
    from packsim.cli.out import check_output, emit_json, print_to_terminal
    from packsim.report.terminal.trial_cost_table import cost_report
    from packsim.report.words.display import Display
    from packsim.scenario import load_scenario
    from packsim.scenario.load import included_kicks
    from packsim.trial.cost import EnergyRange, spoilage_change
    from packsim.trial.plain import cost_json

    check_output(json_path, replace=replace)
    case = load_scenario(scenario, fitted=fitted)
    kicks = included_kicks(scenario, fitted)
    energies = {
        duty: EnergyRange(k.energy, k.low, k.high, k.trial)
        for duty, k in kicks.items()
        if any(stage.duty == duty for stage in case.stages)
    }
    as_set = [stage.guides.narrowest_mm for stage in case.stages]
    old = as_set if before is None else [read_width("--before", before)] * len(as_set)
    new = [read_width("--after", after)] * len(as_set)
    change = spoilage_change(
        case,
        case.set_for if size is None else case.size(size).name,
        old,
        new,
        hours_per_year,
        energies,
        cost_per_can=cost_per_can,
        adjustment_cost=adjustment_cost,
    )
    trials = tuple(dict.fromkeys(energy.trial for energy in energies.values()))
    if json_path is not None:
        emit_json(cost_json(change), json_path, replace=replace)
    if json_path != "-":
        print_to_terminal(cost_report(change, hours_per_year, trials, Display(units.value)))
