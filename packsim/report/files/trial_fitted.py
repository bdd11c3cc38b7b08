"""Fitted kicks as a file that a scenario includes, with where they come from."""

import math

from packsim.errors import printable
from packsim.scenario.renew import SCHEMA
from packsim.scenario.values.readers import toml_text
from packsim.trial.groups import GroupFit, TrialFit
from packsim.trial.statements import statements
from packsim.trial.trial import Trial
from packsim.version import program_version


def fitted_toml(fit: TrialFit) -> str:
    """Return fitted kicks in the layout a scenario includes.

    A table for each fitted duty; all else is said in comments. Duties without a fit have no table,
    so that scenarios go on calling them assumed; nor has any where counts contradict the model.
    """
    lines = [
        "# Kicks fitted to trials by packsim trial fit. Include this file in a scenario with",
        '#     include = "<name of this file>"',
        "# or give it to a command with --fitted.",
        "#",
        f"# scenario: {_plain(fit.scenario.name)}",
        "# trials:",
    ]
    for trial in fit.trials:
        used = "" if trial not in fit.left_out else "  NOT USED"
        lines.append(f"#   {_trial(trial)}{used}")
    factor = fit.dispersion.widening(fit.confidence)
    lines += [
        f"# passages at these widths; seed {fit.scenario.seed}; packsim {program_version()}",
        f"# intervals: {fit.confidence * 100:g} %, profile likelihood, dispersion {factor:.3g}",
    ]
    lines += [f"# {_plain(sentence)}" for sentence in statements(fit)]
    lines += ["", f"schema = {SCHEMA}"]
    if fit.contradicted:
        return "\n".join([*lines, "", "# no kicks: the counts contradict the model"]) + "\n"
    for group in fit.groups:
        for duty in group.duties:
            lines += ["", *_duty(fit, group, duty)]
    return "\n".join(lines) + "\n"


def _duty(fit: TrialFit, group: GroupFit, duty: str) -> list[str]:
    result = group.estimate
    if result is None or result.status != "fitted":
        return [f"# {duty}: {group.status}; still assumed"]
    if not group.touches(duty):
        return [f"# {duty}: no count depends on its kicks; still assumed"]
    low, high = group.energy_mJ(duty, result.low), group.energy_mJ(duty, result.high)
    plural, common = "s" * (group.settings != 1), ", common factor" * group.common
    head = [f"# {duty}: {group.tipped} tipped cans at {group.settings} setting{plural}{common}"]
    rates = {s.kicks.rate_per_s for s in fit.scenario.stages if s.duty == duty}
    if len(rates) > 1:
        head.append("# the stages' own kick rates were held: energy and rates belong together")
    table = [f"[kicks.{duty}]", f'energy = "{group.energy_mJ(duty):.6g} mJ"']
    if low > 0.0:
        table.append(f'low = "{low:.6g} mJ"')
    if math.isfinite(high):
        table.append(f'high = "{high:.6g} mJ"')
    if len(rates) == 1:
        table.append("# as in the scenario; belongs to the energy")
        table.append(f'kicks_per_second = "{rates.pop():.9g} 1/s"')
    return [*head, *table, f"trial = {toml_text(_plain(_names(fit)))}"]


def _names(fit: TrialFit) -> str:
    """Name the trials and their days, short enough for one line."""
    used = [trial for trial in fit.trials if trial not in fit.left_out]
    names = [f"{trial.name} ({trial.date})" for trial in used]
    text = ", ".join(names[:4])
    text += f" and {len(names) - 4} more" if len(names) > 4 else ""
    return text if len(text) <= 180 else f"{len(names)} trials, last {used[-1].date}"


def _trial(trial: Trial) -> str:
    widths = {count.clear_width_mm for count in trial.stages}
    low, high = min(widths), max(widths)
    span = f"{low:g} mm" if low == high else f"{low:g} to {high:g} mm"
    line = f", line {_plain(trial.line)}" if trial.line else ""
    return (
        f"{_plain(trial.name)}, {trial.date}{line}: {_plain(trial.size)} at {span}, "
        f"{trial.cans} cans, {trial.tipped} tipped"
    )


def _plain(text: str) -> str:
    """Keep a text on its comment line."""
    return " ".join(printable(text).split())
