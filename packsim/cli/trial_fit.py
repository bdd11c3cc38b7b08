"""``packsim trial fit``: fit the kick energies to trials, and say what the counts can tell."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from packsim.cli.options import (
    ChartPath,
    Guides,
    JsonPath,
    Replace,
    ScenarioPath,
    Units,
    UnitsOption,
    size_names,
)

__all__ = ["fit_command"]


def fit_command(
    scenario: ScenarioPath,
    trials: Annotated[
        list[Path], typer.Argument(metavar="TRIALS...", help="Trial files (TOML or CSV).")
    ],
    output: Annotated[
        str | None,
        typer.Option("--output", "-o", metavar="FILE", help="Write the fitted kicks (TOML)."),
    ] = None,
    chart: ChartPath = None,
    size: Annotated[
        str | None,
        typer.Option(
            "--size",
            metavar="NAME",
            autocompletion=size_names,
            help="Can size to predict; that of the last trial if left out.",
        ),
    ] = None,
    guides: Guides = None,
    run_cans: Annotated[
        float, typer.Option("--run-cans", help="Number of cans for which tips are predicted.")
    ] = 1_000_000,
    grouping: Annotated[
        str, typer.Option("--grouping", help="auto, duty (one energy each) or common (one factor).")
    ] = "auto",
    sharing: Annotated[
        str,
        typer.Option(
            "--model", help="Where the slack of a row lies in the model: spread, gathered."
        ),
    ] = "spread",
    slack_case: Annotated[
        str, typer.Option("--case", help="How much slack the rows have: set or loosest.")
    ] = "set",
    line: Annotated[
        str | None, typer.Option("--line", metavar="NAME", help="Use only trials of this line.")
    ] = None,
    confidence: Annotated[
        float, typer.Option("--confidence", help="Confidence level of all intervals.")
    ] = 0.95,
    units: UnitsOption = Units.metric,
    json: JsonPath = None,
    replace: Replace = False,
) -> None:
    """Fit the kick energies to trials, and say what the counts can tell and what they cannot.

    Tips are predicted at each setting of --guides, and the chart marks it; if left out, at
    settings closed step by step from as set.
    """
    from packsim.check import at_least
    from packsim.cli.outputs import Outputs
    from packsim.report.charts.trial_chart import fit_chart
    from packsim.report.files.trial_fitted import fitted_toml
    from packsim.report.terminal.trial_fit_table import fit_report
    from packsim.report.words.display import Display
    from packsim.scenario import load_scenario
    from packsim.scenario.guide_setting import settings_mm
    from packsim.scenario.trial_file import load_trials
    from packsim.trial.fit import fit_trials
    from packsim.trial.foretell import closed_in_steps_mm, predict_fitted
    from packsim.trial.plain import fit_json

    outputs = Outputs(replace, output=output, chart=chart, json=json)
    at_least("run-cans", run_cans, 1.0)
    case = load_scenario(scenario)
    used = load_trials(trials, case, line=line)
    which = used[-1].size if size is None else case.size(size).name
    asked = settings_mm(case, which, guides or (), units)
    fit = fit_trials(
        case,
        used,
        grouping=grouping,
        sharing=sharing,
        slack_case=slack_case,
        confidence=confidence,
    )
    widths = list(asked.values()) or closed_in_steps_mm(case, which)
    predictions = predict_fitted(fit, which, widths, run_cans)
    display = Display(units)
    outputs.deliver(
        lambda: fit_report(fit, predictions, which, run_cans, display),
        chart=lambda: fit_chart(fit, which, display, asked),
        output=lambda: fitted_toml(fit),
        json=lambda: fit_json(fit, predictions, which, run_cans),
    )
