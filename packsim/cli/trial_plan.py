"""``packsim trial plan``: which settings are worth a trial, and the form to record it on."""

from __future__ import annotations

from typing import Annotated

import typer

from packsim.cli.options import (
    FittedPath,
    HtmlPath,
    JsonPath,
    Replace,
    ScenarioPath,
    SizeName,
    Units,
    UnitsOption,
)

__all__ = ["plan_command"]


def plan_command(
    scenario: ScenarioPath,
    size: SizeName = None,
    per_million: Annotated[
        float | None,
        typer.Option("--per-million", help="Cans tipped per million as the line runs now."),
    ] = None,
    power: Annotated[
        float, typer.Option("--power", help="Chance to find a difference that is there.")
    ] = 0.9,
    alpha: Annotated[
        float, typer.Option("--alpha", help="Chance of a false alarm, both sides together.")
    ] = 0.05,
    fitted: FittedPath = None,
    output: Annotated[
        str | None,
        typer.Option("--output", "-o", metavar="FILE", help="Write the form as CSV; - for stdout."),
    ] = None,
    html: HtmlPath = None,
    units: UnitsOption = Units.metric,
    json: JsonPath = None,
    replace: Replace = False,
) -> None:
    """Say which settings are worth a trial and how many cans it takes; print the form."""
    from packsim.cli.outputs import Outputs
    from packsim.report.page.trial_form import form_csv, form_html
    from packsim.report.terminal.trial_plan_table import plan_report
    from packsim.report.words.display import Display
    from packsim.scenario import load_scenario
    from packsim.trial.plain import plan_json
    from packsim.trial.plan import plan_trial

    outputs = Outputs(replace, output=output, html=html, json=json)
    case = load_scenario(scenario, fitted=fitted)
    plan = plan_trial(case, size, now_per_million=per_million, power=power, alpha=alpha)
    display = Display(units)
    outputs.deliver(
        lambda: plan_report(plan, display),
        output=lambda: form_csv(plan, display),
        html=lambda: form_html(plan, display),
        json=lambda: plan_json(plan),
    )
