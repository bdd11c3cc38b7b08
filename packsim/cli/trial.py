"""``packsim trial``: plan a trial on the floor, fit the kicks to it, price what it teaches."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from packsim.cli.options import JsonPath, Replace, ScenarioPath, Units, UnitsOption

if TYPE_CHECKING:
    from collections.abc import Sequence

    from packsim.trial.groups import TrialFit
    from packsim.trial.nouns import Trial

__all__ = ["trial_app"]

trial_app = typer.Typer(
    help="Plan a trial on the floor, fit the kicks to its counts, price an adjustment.",
    no_args_is_help=True,
    rich_markup_mode="rich",
)

SizeName = Annotated[
    str | None, typer.Option("--size", help="Can size; the one the guides are set for if left out.")
]
TrialPaths = Annotated[
    list[Path], typer.Argument(help="Trial files (TOML or CSV).", metavar="TRIALS...")
]
Width = Annotated[
    list[str] | None,
    typer.Option("--width", help='Clear width to predict at, e.g. "1376 mm"; may be repeated.'),
]


@trial_app.command("plan")
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
    fitted: Annotated[
        Path | None, typer.Option("--fitted", help="Kicks fitted to earlier trials (TOML).")
    ] = None,
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
    from packsim.report.display import Display
    from packsim.report.trial_form import form_csv, form_html
    from packsim.report.trial_plan_table import plan_report
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


@trial_app.command("fit")
def fit_command(
    scenario: ScenarioPath,
    trials: TrialPaths,
    output: Annotated[
        str | None,
        typer.Option("--output", "-o", metavar="PATH", help="Write the fitted kicks (TOML)."),
    ] = None,
    chart: Annotated[
        str | None, typer.Option("--chart", metavar="PATH", help="Draw a chart (.svg or .png).")
    ] = None,
    size: Annotated[
        str | None, typer.Option("--size", help="Can size to predict; that of the last trial.")
    ] = None,
    width: Width = None,
    before: Annotated[
        str | None, typer.Option("--before", help="Clear width to mark as before in the chart.")
    ] = None,
    after: Annotated[
        str | None, typer.Option("--after", help="Clear width to mark as after in the chart.")
    ] = None,
    run_cans: Annotated[
        float, typer.Option("--run-cans", help="Cans of the run whose tips are foretold.")
    ] = 1_000_000,
    grouping: Annotated[
        str, typer.Option("--grouping", help="auto, duty (one energy each) or common (one factor).")
    ] = "auto",
    slack: Annotated[
        str, typer.Option("--slack", help="How a row's slack lies: spread or gathered.")
    ] = "spread",
    case: Annotated[
        str, typer.Option("--case", help="Which slack the rows have: set or loosest.")
    ] = "set",
    line: Annotated[
        str | None, typer.Option("--line", help="Use only trials of this line.")
    ] = None,
    confidence: Annotated[float, typer.Option("--confidence", help="Of all intervals.")] = 0.95,
    units: UnitsOption = Units.metric,
    json_path: JsonPath = None,
    replace: Replace = False,
) -> None:
    """Fit the kick energies to trials and say what the counts can tell and what they cannot."""
    from packsim.check import at_least
    from packsim.cli.out import emit_chart, emit_json, emit_text, print_to_terminal
    from packsim.cli.reading import check_outputs
    from packsim.report.display import Display
    from packsim.report.trial_chart import fit_chart
    from packsim.report.trial_fit_table import fit_report
    from packsim.report.trial_fitted import fitted_toml
    from packsim.scenario import load_scenario
    from packsim.scenario.trial_file import load_trials
    from packsim.trial.fit import fit_trials
    from packsim.trial.foretell import predict_fitted
    from packsim.trial.plain import fit_json

    check_outputs((output, chart, json_path), replace=replace)
    at_least("run-cans", run_cans, 1.0)
    line_case = load_scenario(scenario)
    used = _of_line(load_trials(trials, line_case), line)
    which = used[-1].size if size is None else line_case.size(size).name
    fit = fit_trials(
        line_case,
        used,
        grouping=grouping,
        sharing=slack,
        slack_case=case,
        confidence=confidence,
    )
    predictions = predict_fitted(fit, which, _widths(fit, which, width), run_cans)
    display = Display(units.value)
    given = (("--before", before, "before"), ("--after", after, "after"))
    marks = [(_width(option, text), name) for option, text, name in given if text is not None]
    if chart is not None:
        emit_chart(fit_chart(fit, which, display, marks), chart, replace=replace)
    if output is not None:
        emit_text(fitted_toml(fit), output, replace=replace)
    if json_path is not None:
        emit_json(fit_json(fit, predictions, which, run_cans), json_path, replace=replace)
    if "-" not in (output, json_path):
        print_to_terminal(fit_report(fit, predictions, which, run_cans, display))


@trial_app.command("cost")
def cost_command(
    scenario: ScenarioPath,
    after: Annotated[
        str, typer.Option("--after", help='Clear width of every stage after, e.g. "1376 mm".')
    ],
    hours_per_year: Annotated[
        float, typer.Option("--hours-per-year", help="Running hours of this size in a year.")
    ],
    fitted: Annotated[
        Path | None, typer.Option("--fitted", help="Kicks fitted to trials (TOML).")
    ] = None,
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
    from packsim.report.display import Display
    from packsim.report.trial_cost_table import cost_report
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
    old = as_set if before is None else [_width("--before", before)] * len(as_set)
    new = [_width("--after", after)] * len(as_set)
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


def _of_line(trials: Sequence[Trial], line: str | None) -> tuple[Trial, ...]:
    from packsim.errors import InputError

    if line is None:
        return tuple(trials)
    used = tuple(trial for trial in trials if trial.line == line)
    if not used:
        known = ", ".join(sorted({repr(trial.line) for trial in trials}))
        raise InputError("--line", repr(line), f"a line of the trials: {known}")
    return used


def _width(option: str, text: str) -> float:
    from packsim.cli.reading import read_option
    from packsim.scenario.kinds import LENGTH

    return read_option(option, text, LENGTH)


def _widths(fit: TrialFit, size: str, given: Sequence[str] | None) -> list[list[float]]:
    """Clear widths to predict at: those asked for, or every stage closed in steps from as set."""
    from packsim.trial.plan import stage_rooms

    as_set = [stage.guides.narrowest_mm for stage in fit.scenario.stages]
    if given:
        return [[_width("--width", text)] * len(as_set) for text in given]
    rooms = stage_rooms(fit.scenario, size)
    most = max(0.0, min(room.now_mm - room.low_mm for room in rooms))
    step = max(1.0, round(most / 8.0))
    moves = [0.0, *(step * i for i in range(1, 1 + int(most / step)))]
    return [[width - move for width in as_set] for move in moves]
