"""``packsim trial cost``: what an adjustment saves in a year, at the user's own figures."""

from __future__ import annotations

from typing import Annotated

import typer

from packsim.cli.options import (
    FittedPath,
    Guides,
    JsonPath,
    Replace,
    ScenarioPath,
    SizeName,
    Units,
    UnitsOption,
)

__all__ = ["cost_command"]


def cost_command(
    scenario: ScenarioPath,
    hours_per_year: Annotated[
        float, typer.Option("--hours-per-year", help="Running hours of this size in a year.")
    ],
    guides: Guides = None,
    fitted: FittedPath = None,
    size: SizeName = None,
    cost_per_can: Annotated[
        float | None, typer.Option("--cost-per-can", help="Your cost of one tipped can.")
    ] = None,
    adjustment_cost: Annotated[
        float | None, typer.Option("--adjustment-cost", help="Your cost of the adjustment.")
    ] = None,
    units: UnitsOption = Units.metric,
    json: JsonPath = None,
    replace: Replace = False,
) -> None:
    """Compare the spoilage of two guide settings in a year, in cans and at your own cost.

    Give --guides twice, before and after; given once, it is the setting after, and before is as
    set.
    """
    from packsim.cli.outputs import Outputs
    from packsim.report.terminal.trial_cost_table import cost_report
    from packsim.report.words.display import Display
    from packsim.scenario import load_scenario
    from packsim.scenario.guide_setting import two_settings_mm
    from packsim.scenario.trial_file import fitted_energies
    from packsim.trial.cost import spoilage_change
    from packsim.trial.plain import cost_json

    outputs = Outputs(replace, json=json)
    case = load_scenario(scenario, fitted=fitted)
    energies = fitted_energies(case, scenario, fitted)
    name = case.size(size).name
    change = spoilage_change(
        case,
        name,
        *two_settings_mm(case, name, guides or (), units),
        hours_per_year,
        energies,
        cost_per_can=cost_per_can,
        adjustment_cost=adjustment_cost,
    )
    trials = tuple(dict.fromkeys(energy.trial for energy in energies.values()))
    outputs.deliver(
        lambda: cost_report(change, hours_per_year, trials, Display(units)),
        json=lambda: cost_json(change),
    )
