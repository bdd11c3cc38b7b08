"""What trials say about the kicks, for the terminal."""

from __future__ import annotations

import math
from collections.abc import Sequence

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from packsim.passage.counting import poisson_interval
from packsim.report.terminal.wide_table import WideTable
from packsim.report.words.cautions import CAUTION_LINE
from packsim.report.words.display import Display
from packsim.report.words.trial_words import count_text, interval_text, rate_text
from packsim.trial.foretell import FittedPrediction, predict_fitted
from packsim.trial.groups import GroupFit, TrialFit
from packsim.trial.statements import statements

__all__ = ["fit_report"]

STATUS_STYLE = {
    "fitted": "green",
    "upper limit": "yellow",
    "beyond the model": "bold red",
    "no information": "dim",
}


def fit_report(
    fit: TrialFit,
    predictions: Sequence[FittedPrediction],
    size: str,
    run_cans: float,
    display: Display,
) -> Group:
    """Return a fit for the terminal.

    Parameters
    ----------
    fit : TrialFit
        The fit.
    predictions : sequence of FittedPrediction
        At the clear widths to be shown, for one size.
    size : str
        That size.
    run_cans : float
        Cans of the run foretold.
    display : Display
        Unit system.

    Returns
    -------
    rich.console.Group
        What was counted, what was fitted, what can be told and what not, what to expect.
    """
    trials = fit.trials
    days = sorted(trial.date for trial in trials)
    span = f"{days[0]}" if days[0] == days[-1] else f"{days[0]} to {days[-1]}"
    cans, tipped = sum(t.cans for t in trials), sum(t.tipped for t in trials)
    low, high = poisson_interval(tipped, fit.confidence)
    plural = "trial" if len(trials) == 1 else "trials"
    head = Text(
        f"{len(trials)} {plural}, {span}: {cans:,} cans passed, {tipped:,} tipped, "
        f"{rate_text(1e6 * tipped / cans)} in a million "
        f"({interval_text(1e6 * low / cans, 1e6 * high / cans)}). Intervals: "
        f"{fit.confidence * 100:g} %."
    )
    parts: list[RenderableType] = [Text(fit.scenario.name, style="bold"), head, Text()]
    parts += [_kicks(fit), Text(), _said(fit), Text(), _counts(fit, display), Text()]
    parts += [_expected(fit, predictions, size, run_cans, display), Text()]
    parts += [_model(fit), Text(), Text(f"Caution. {CAUTION_LINE}")]
    return Group(*parts)


def _kicks(fit: TrialFit) -> RenderableType:
    table = WideTable("duty")
    for head in ("assumed\nmJ", "fitted\nmJ", "interval\nmJ", "tips\nused", "settings"):
        table.add_column(head)
    table.add_column("deviance\n/ freedom")
    table.add_column("p of\nagreement")
    table.add_column("what it is", "left")
    for group in fit.groups:
        for duty, base in zip(group.duties, group.base_mJ, strict=True):
            table.add_row(duty, f"{base:.4g}", *_kick_cells(group, duty))
    return Group(Text("Mean kick energy", style="bold"), Padding(table, (0, 0, 0, 2)))


def _kick_cells(group: GroupFit, duty: str) -> list[str | Text]:
    result, quality = group.estimate, group.quality
    status = Text(group.status, style=STATUS_STYLE[group.status])
    if group.common and group.status == "fitted" and result is not None:
        status.append(f", common factor {result.best:.3g}")
    if result is None or not group.touches(duty):
        status = status if result is None else Text("no information", style="dim")
        return ["–", "–", "0", "0", "–", "–", status]
    low, high = (group.energy_mJ(duty, end) for end in (result.low, result.high))
    if result.status == "upper limit":
        best, ends = "–", f"up to {high:.4g}" if math.isfinite(high) else "any"
    else:
        best = f"{group.energy_mJ(duty):.4g}" if math.isfinite(result.best) else "–"
        ends = f"{low:.4g} – {high:.4g}" if math.isfinite(high) else f"{low:.4g} or more"
    agree = "–", "–"
    if quality is not None:
        p = "–" if quality.p_value is None else f"{quality.p_value:.2g}"
        agree = f"{quality.deviance:.1f} / {quality.freedom}", p
    return [best, ends, str(group.tipped), str(group.settings), *agree, status]


def _said(fit: TrialFit) -> RenderableType:
    said = statements(fit)
    if not said:
        return Text("The counts agree with the model and tell every kick energy they touch.")
    table = Table.grid(padding=(0, 1))
    table.add_column()
    table.add_column(overflow="fold")
    for sentence in said:
        table.add_row("·", Text(sentence))
    heading = Text("What the counts can tell, and what they cannot", style="bold")
    return Group(heading, Padding(table, (0, 0, 0, 2)))


def _counts(fit: TrialFit, display: Display) -> RenderableType:
    table = WideTable("trial")
    table.add_column("date")
    table.add_column("size", "left")
    table.add_column(f"clear width\n{display.length_unit}")
    for head in ("cans", "tipped", "in a million\nand its interval", "model\nexpects"):
        table.add_column(head)
    for trial in fit.trials:
        widths = [[count.clear_width_mm for count in trial.stages]]
        expected = predict_fitted(fit, trial.size, widths)[0].per_million
        low, high = poisson_interval(trial.tipped, fit.confidence)
        scale = 1e6 / trial.cans
        table.add_row(
            trial.name,
            f"{trial.date}",
            trial.size,
            _width_text(widths[0], display),
            f"{trial.cans:,}",
            f"{trial.tipped:,}",
            f"{rate_text(trial.per_million)} ({interval_text(low * scale, high * scale)})",
            count_text(expected * trial.cans / 1e6),
        )
    return Group(Text("Counted", style="bold"), Padding(table, (0, 0, 0, 2)))


def _width_text(widths: Sequence[float], display: Display) -> str:
    shown = [display.length(width, unit=False) for width in (min(widths), max(widths))]
    return shown[0] if shown[0] == shown[1] else f"{shown[0]}–{shown[1]}"


def _expected(
    fit: TrialFit,
    predictions: Sequence[FittedPrediction],
    size: str,
    run_cans: float,
    display: Display,
) -> RenderableType:
    table = WideTable(f"clear width\n{display.length_unit}")
    for head in ("tipped in\na million", "interval", f"in a run of\n{run_cans:,.0f} cans"):
        table.add_column(head)
    table.add_column("rests on assumed kicks of", "left")
    for one in predictions:
        run = "–" if one.run is None else f"{one.run[0]:,} to {one.run[1]:,}"
        table.add_row(
            _width_text(one.widths_mm, display),
            rate_text(one.per_million),
            interval_text(one.low, one.high),
            run,
            ", ".join(one.assumed) or "–",
        )
    heading = Text.assemble(("To be expected", "bold"), f", {size}")
    return Group(heading, Padding(table, (0, 0, 0, 2)))


def _model(fit: TrialFit) -> Text:
    lies = {
        "spread": "shared out at random over its gaps, anew for every kick",
        "gathered": "gathered in the one gap where it is worst",
    }[fit.sharing]
    which = {
        "set": "as set with nominal cans, cold",
        "loosest": "in the loosest case of the slack budget",
    }[fit.slack_case]
    return Text(
        f"Model: the slack of a row, {which}, lies {lies}; a kick tips a can with the chance "
        "exp(−overturning energy / kick energy), half the kicks to each side; rates of kicks are "
        "held at the scenario's values. Intervals hold the chance in the counts, not what the "
        "model leaves out. p of agreement: share of simulated trials that fit worse.",
        style="dim",
    )
