"""``packsim trial plan``: which settings are worth a trial, and the form to record it on."""

from __future__ import annotations

from typing import Annotated

import typer

from packsim.cli.options import FittedPath, JsonPath, Replace, ScenarioPath, Units, UnitsOption

__all__ = ["plan_command"]

SizeName = Annotated[
    str | None, typer.Option("--size", help="Can size; the one the guides are set for if left out.")
]


def plan_command(
    scenario: ScenarioPath,
    size: SizeName = None,
    per_million: Annotated[
        float | None,
        typer.Option("--per-million", help="Cans tipped in a million as the line runs now."),
    ] = None,
    power: Annotated[
        float, typer.Option("--power", help="Chance to find a difference that is there.")
    ] = 0.9,
    alpha: Annotated[
        float, typer.Option("--alpha", help="Chance of a false alarm, both sides together.")
    ] = 0.05,
    fitted: FittedPath = None,
    form: Annotated[
        str | None,
        typer.Option("--form", "-o", metavar="PATH", help="Write the form as CSV; - for stdout."),
    ] = None,
    html: Annotated[
        str | None, typer.Option("--html", metavar="PATH", help="Write the form as HTML, to print.")
    ] = None,
    units: UnitsOption = Units.metric,
    json_path: JsonPath = None,
    replace: Replace = False,
) -> None:
    """Say which settings are worth a trial, how many cans it takes, and print the form."""
    from packsim.cli.out import emit_json, emit_text, print_to_terminal
    from packsim.cli.reading import check_outputs
    from packsim.report.page.trial_form import form_csv, form_html
    from packsim.report.terminal.trial_plan_table import plan_report
    from packsim.report.words.display import Display
    from packsim.scenario import load_scenario
    from packsim.trial.plain import plan_json
    from packsim.trial.plan import plan_trial

    check_outputs((form, html, json_path), replace=replace)
    case = load_scenario(scenario, fitted=fitted)
    plan = plan_trial(case, size, now_per_million=per_million, power=power, alpha=alpha)
    display = Display(units.value)
    if form is not None:
        emit_text(form_csv(plan, display), form, replace=replace)
    if html is not None:
        emit_text(form_html(plan, display), html, replace=replace)
    if json_path is not None:
        emit_json(plan_json(plan), json_path, replace=replace)
    if "-" not in (form, html, json_path):
        print_to_terminal(plan_report(plan, display))
