"""``packsim trial fit``: fit the kick energies to trials, and say what the counts can tell."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from packsim.cli.options import JsonPath, Replace, ScenarioPath, Units, UnitsOption
from packsim.cli.reading import check_outputs, read_width

if TYPE_CHECKING:
    from collections.abc import Sequence

    from packsim.trial.groups import TrialFit
    from packsim.trial.trial import Trial

__all__ = ["fit_command"]

TrialPaths = Annotated[
    list[Path], typer.Argument(help="Trial files (TOML or CSV).", metavar="TRIALS...")
]
Width = Annotated[
    list[str] | None,
    typer.Option("--width", help='Clear width to predict at, e.g. "1376 mm"; may be repeated.'),
]


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
    from packsim.report.charts.trial_chart import fit_chart
    from packsim.report.files.trial_fitted import fitted_toml
    from packsim.report.terminal.trial_fit_table import fit_report
    from packsim.report.words.display import Display
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
    marks = [(read_width(option, text), name) for option, text, name in given if text is not None]
    if chart is not None:
        emit_chart(fit_chart(fit, which, display, marks), chart, replace=replace)
    if output is not None:
        emit_text(fitted_toml(fit), output, replace=replace)
    if json_path is not None:
        emit_json(fit_json(fit, predictions, which, run_cans), json_path, replace=replace)
    if "-" not in (output, json_path):
        print_to_terminal(fit_report(fit, predictions, which, run_cans, display))


def _of_line(trials: Sequence[Trial], line: str | None) -> tuple[Trial, ...]:
    from packsim.errors import InputError

    if line is None:
        return tuple(trials)
    used = tuple(trial for trial in trials if trial.line == line)
    if not used:
        known = ", ".join(sorted({repr(trial.line) for trial in trials}))
        raise InputError("--line", repr(line), f"a line of the trials: {known}")
    return used


def _widths(fit: TrialFit, size: str, given: Sequence[str] | None) -> list[list[float]]:
    """Clear widths to predict at: those asked for, or every stage closed in steps from as set."""
    from packsim.trial.plan import stage_rooms

    as_set = [stage.guides.narrowest_mm for stage in fit.scenario.stages]
    if given:
        return [[read_width("--width", text)] * len(as_set) for text in given]
    rooms = stage_rooms(fit.scenario, size)
    most = max(0.0, min(room.now_mm - room.low_mm for room in rooms))
    step = max(1.0, round(most / 8.0))
    moves = [0.0, *(step * i for i in range(1, 1 + int(most / step)))]
    return [[width - move for width in as_set] for move in moves]
