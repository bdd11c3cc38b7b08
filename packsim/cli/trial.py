"""``packsim trial``: plan a trial on the floor, fit the kicks to it."""

from pathlib import Path
from typing import Annotated

import typer

from packsim.cli import options as opt
from packsim.cli.options import Units, size_names
from packsim.cli.outputs import Outputs, display_in, json_of, load_line
from packsim.cli.terminal import progress_bar

_TRIALS = "Trial files (TOML or CSV)."
_LAST = "Can size to predict; that of the last trial if left out."
_GROUPING = "What is fitted: duty (one energy for each duty), common (one factor for all) or auto."


def plan_command(
    scenario: opt.Scenario,
    size: opt.Size = None,
    per_million: Annotated[
        float | None, typer.Option(help="Cans tipped per million as the line runs now.")
    ] = None,
    power: Annotated[float, typer.Option(help="Chance to find a difference that is there.")] = 0.9,
    alpha: Annotated[
        float, typer.Option(help="Chance of a false alarm, both sides together.")
    ] = 0.05,
    fitted: opt.Fitted = None,
    output: Annotated[str | None, opt.written("Write the form as CSV; - for stdout.")] = None,
    html: opt.Html = None,
    no_cache: opt.NoCache = False,
    units: opt.UnitSystem = Units.metric,
    json: opt.Json = None,
    replace: opt.Replace = False,
) -> None:
    """Say which settings are worth a trial and how many cans it takes; print the form."""
    from packsim.report.page.trial_form import form_csv, form_html
    from packsim.report.terminal.trial_plan_table import plan_report
    from packsim.trial.plan import plan_trial

    outputs = Outputs(replace, endings=(".csv",), kind=".csv", output=output, html=html, json=json)
    case = load_line(scenario, units, fitted)
    with progress_bar("carrying packs through the line") as tick:
        plan = plan_trial(
            case, size, now_per_million=per_million, power=power, alpha=alpha, progress=tick
        )
    display = display_in(units)
    outputs.deliver(
        case,
        lambda: plan_report(plan, display),
        output=lambda: form_csv(plan, display),
        html=lambda: form_html(plan, display),
        json=lambda: json_of("trial plan", case, plan),
    )


def fit_command(
    scenario: opt.Scenario,
    trials: Annotated[list[Path], typer.Argument(metavar="TRIALS...", help=_TRIALS, **opt.AS_PATH)],
    output: Annotated[str | None, opt.written("Write the fitted kicks (TOML).")] = None,
    chart: opt.Chart = None,
    size: Annotated[
        str | None, typer.Option(metavar="NAME", autocompletion=size_names, help=_LAST)
    ] = None,
    guides: opt.Guides = None,
    run_cans: Annotated[
        float, typer.Option(help="Number of cans for which tips are predicted.")
    ] = 1_000_000,
    grouping: Annotated[str, typer.Option(metavar="NAME", help=_GROUPING)] = "auto",
    line: Annotated[
        str | None, typer.Option(metavar="NAME", help="Use only trials of this line.")
    ] = None,
    confidence: Annotated[float, typer.Option(help="Confidence level of all intervals.")] = 0.95,
    no_cache: opt.NoCache = False,
    units: opt.UnitSystem = Units.metric,
    json: opt.Json = None,
    replace: opt.Replace = False,
) -> None:
    """Fit the kick energies to trials, and say what the counts can tell and what they cannot.

    Tips are predicted at each setting of --guides, and the chart marks it.
    If left out, at settings closed step by step from as set.
    """
    from packsim.errors import at_least
    from packsim.report.charts.trial_chart import fit_chart
    from packsim.report.files.trial_fitted import fitted_toml
    from packsim.report.terminal.trial_fit_table import fit_report
    from packsim.scenario.trial_file import load_trials
    from packsim.scenario.values.ranges import settings
    from packsim.trial.fit import fit_trials
    from packsim.trial.foretell import closed_in_steps_mm, predict_fitted
    from packsim.trial.statements import statements

    outputs = Outputs(replace, output=output, chart=chart, json=json)
    at_least("run-cans", run_cans, 1.0)
    case = load_line(scenario, units)
    used = load_trials(trials, case, line=line)
    which = used[-1].size if size is None else case.size(size).name
    asked = settings(case, which, guides or (), units)
    marks = {name: [s.guides.narrowest_mm for s in at.stages] for name, at in asked.items()}
    with progress_bar("carrying packs through the line") as tick:
        fit = fit_trials(case, used, grouping=grouping, confidence=confidence, progress=tick)
        predictions = []
        if not fit.contradicted:
            steps = [] if asked else closed_in_steps_mm(case, which)
            lines = [
                *((marks[name], at) for name, at in asked.items()),
                *((w, None) for w in steps),
            ]
            for widths, at in lines:
                predictions.append(predict_fitted(fit, which, widths, run_cans, at, tick))
    display = display_in(units)
    outputs.deliver(
        case,
        lambda: fit_report(fit, predictions, which, run_cans, display),
        chart=lambda: fit_chart(fit, predictions, which, display, marks),
        output=lambda: fitted_toml(fit),
        json=lambda: json_of(
            "trial fit",
            case,
            fit,
            statements=statements(fit),
            predictions=predictions,
            size=which,
            run_cans=run_cans,
        ),
    )
