"""What trials say about the kicks, for the terminal."""

import math
from collections.abc import Sequence

from rich.console import Group, RenderableType
from rich.text import Text

from packsim.report.terminal.parts import WideTable, block, caution, points
from packsim.report.words.display import Display
from packsim.report.words.numbers import per_million, span, thousands, with_interval
from packsim.trial.foretell import FittedPrediction
from packsim.trial.groups import GroupFit, TrialFit
from packsim.trial.statements import statements

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
    """Return a fit for the terminal: counted, fitted, what can be told and what not, expected."""
    trials = fit.trials
    days = sorted(trial.date for trial in trials)
    when = f"{days[0]}" if days[0] == days[-1] else f"{days[0]} to {days[-1]}"
    cans, tipped = sum(t.cans for t in trials), sum(t.tipped for t in trials)
    plural = "trial" if len(trials) == 1 else "trials"
    head = Text(
        f"{len(trials)} {plural}, {when}: {thousands(cans)} cans passed, {thousands(tipped)} "
        f"tipped. Intervals: {fit.confidence * 100:g} %."
    )
    parts: list[RenderableType] = [Text(fit.scenario.name, style="bold"), head, Text()]
    parts += [_kicks(fit), Text(), _said(fit), Text(), _counts(fit, display), Text()]
    if predictions:
        parts += [_expected(predictions, size, run_cans, display), Text()]
    return Group(*parts, _MODEL, Text(), caution())


def _kicks(fit: TrialFit) -> RenderableType:
    heads = ("assumed\nmJ", "fitted\nmJ", "interval\nmJ", "tips\nused", "settings")
    table = WideTable("duty", (*heads, "<fit", "<what it is"))
    for group in fit.groups:
        for duty, base in zip(group.duties, group.base_mJ, strict=True):
            table.add_row(duty, f"{base:.4g}", *_kick_cells(group, duty))
    return block("Mean kick energy", table)


def _kick_cells(group: GroupFit, duty: str) -> list[str | Text]:
    result, quality = group.estimate, group.quality
    status = Text(group.status, style=STATUS_STYLE[group.status])
    if group.common and group.status == "fitted" and result is not None:
        status.append(f", common factor {result.best:.3g}")
    if result is None or not group.touches(duty):
        status = status if result is None else Text("no information", style="dim")
        return ["–", "–", "0", "0", "–", status]
    low, high = (group.energy_mJ(duty, end) for end in (result.low, result.high))
    if result.status == "upper limit":
        best, ends = "–", f"up to {high:.4g}" if math.isfinite(high) else "any"
    else:
        best = f"{group.energy_mJ(duty):.4g}" if math.isfinite(result.best) else "–"
        ends = span(f"{low:.4g}", f"{high:.4g}") if math.isfinite(high) else f"{low:.4g} or more"
    agree = "–"
    if quality is not None and quality.p_value is not None:
        agree = f"{'poor' if quality.poor else 'good'} (p = {quality.p_value:.2g})"
    return [best, ends, str(group.tipped), str(group.settings), agree, status]


def _said(fit: TrialFit) -> RenderableType:
    said = statements(fit)
    if not said:
        return Text("The counts agree with the model, and every kick energy they touch is known.")
    return block("What the counts can tell, and what they cannot", points(said))


def _counts(fit: TrialFit, display: Display) -> RenderableType:
    heads = ("date", "<size", f"clear width\n{display.length_unit}", "cans", "tipped")
    more = ("tips per million\nand interval", "model\nexpects", "other trials\nlead to")
    table = WideTable("trial", (*heads, *more))
    for count in fit.counts:
        trial, others = count.trial, count.from_others
        table.add_row(
            trial.name,
            f"{trial.date}",
            trial.size,
            display.settings(trial.widths_mm, unit=False),
            thousands(trial.cans),
            thousands(trial.tipped),
            with_interval(count.tips_per_million, *count.tips_per_million_interval),
            per_million(count.expected),
            "–" if others is None else span(thousands(others[0]), thousands(others[1])),
        )
    return block("Counted", table)


def _expected(
    predictions: Sequence[FittedPrediction], size: str, run_cans: float, display: Display
) -> RenderableType:
    run_head = f"tipped in a run of\n{thousands(run_cans)} cans"
    heads = ("tips per\nmillion", "interval", run_head, "<rests on assumed kicks of")
    table = WideTable(f"clear width\n{display.length_unit}", heads)
    for one in predictions:
        run = "–" if one.tips_in_run is None else span(*map(thousands, one.tips_in_run))
        table.add_row(
            display.settings(one.widths_mm, unit=False),
            per_million(one.tips_per_million),
            span(*map(per_million, one.tips_per_million_interval)),
            run,
            ", ".join(one.assumed_duties) or "–",
        )
    return block(f"Expected at other widths, {size}", table)


_MODEL = Text(
    "Model: a pack is carried through the line at the clear widths of each trial; a kick tips a "
    "can with the chance exp(−energy it needs there / kick energy). Kicks per second are held at "
    "the scenario's values. Intervals hold the chance in the counts and the standard error of the "
    "passages, not what the model leaves out. Fit: p is the share of simulated trials that agree "
    "worse with the model; poor when it is small.",
    style="dim",
)
