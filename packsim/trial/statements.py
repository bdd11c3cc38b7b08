"""What the counts can tell and what they cannot, in plain words."""

import math
from collections.abc import Iterator
from typing import Final

from packsim.trial.groups import GroupFit, TrialFit

MANY: Final = 0.01
"""Share of cans tipped above which the counts are no longer rare (our choice): tipped cans then
block others, and the Poisson model with it."""

RARE: Final = 0.05


def group_name(group: GroupFit) -> str:
    """Return what to call a group: its duty, or that it is all of them."""
    return "all duties" if group.common else group.duties[0]


def statements(fit: TrialFit) -> tuple[str, ...]:
    """Say what a fit can tell and what it cannot.

    Parameters
    ----------
    fit : TrialFit
        The fit.

    Returns
    -------
    tuple of str
        Sentences; the gravest first.
    """
    found = [said for said in _places(fit) if fit.contradicted]
    for group in fit.groups:
        found += list(_ruled_out(fit, group))
    for group in fit.groups:
        found += list(_about(fit, group))
    found += [*_odd(fit), *_whole(fit)]
    found += [said for said in _places(fit) if not fit.contradicted]
    return tuple(found)


def _ruled_out(fit: TrialFit, group: GroupFit) -> Iterator[str]:
    """Name counts that the model cannot produce."""
    for one in group.ruled_out:
        where = f"at {one.curves[0].stage}" if len(one.curves) == 1 else "somewhere on the line"
        yield (
            f"{_cans(one.tipped)} tipped {where} in trial {fit.used[one.trial].name!r}, where the "
            f"model lets none: {_why_never(fit, one.curves[0].stage)}. These tips are not in the "
            "fit: a width or a hold-down was not as written down, or the model is wrong there"
        )


def _why_never(fit: TrialFit, name: str) -> str:
    if fit.scenario.stage(name).kicks.rate_per_s <= 0.0:
        return "the scenario gives the stage no kicks"
    return "guides, neighbours or a hold-down stop every can before it would tip over"


def _about(fit: TrialFit, group: GroupFit) -> Iterator[str]:
    name = group_name(group)
    result = group.estimate
    if result is None:
        yield f"{name}: no information, so the assumed kicks stay. {_why_nothing(fit, group)}"
        return
    percent = f"{fit.confidence * 100:g} %"
    if result.status == "upper limit":
        cans = max(one.cans for one in group.observations)
        yield (
            f"{name}: no can tipped, in up to {cans:,} cans at a setting where one could. So only "
            f"an upper limit is known ({percent}, one-sided): {_limit(group, result.upper_limit)}"
        )
    elif result.status == "beyond the model":
        yield (
            f"{name}: more cans tipped than the model gives for any kick energy, so none is "
            "fitted: look at clear widths, wire heights and the kick rate"
        )
    else:
        if group.settings == 1:
            yield (
                f"{name}: one setting only. It cannot tell rougher kicks from more kicks, and how "
                "tips change with the clear width is not tested: predictions at other widths rest "
                "on the model alone"
            )
        if group.tipped < 5:
            yield f"{name}: the fit rests on {_cans(group.tipped)} tipped; its interval is rough"
        if group.quality is not None and group.quality.poor:
            yield (
                f"{name}: the fit is poor; the counts differ from it by more than chance (p = "
                f"{group.quality.p_value:.3g}). Either tips come in clusters, or a setting was "
                "not what was written down, or the model is wrong"
            )


def _limit(group: GroupFit, limit: float) -> str:
    parts = []
    for duty, base in zip(group.duties, group.base_mJ, strict=True):
        most = group.energy_mJ(duty, limit)
        verdict = "within it" if base <= most else "above it: treat it as unproven"
        parts.append(f"{duty} at most {most:.3g} mJ; the {base:.3g} mJ assumed is {verdict}")
    return "; ".join(parts)


def _why_nothing(fit: TrialFit, group: GroupFit) -> str:
    reasons: dict[str, list[str]] = {}
    for stage in fit.scenario.stages:
        if stage.duty in group.duties:
            reasons.setdefault(_why_never(fit, stage.name), []).append(stage.name)
    said = "; ".join(f"{', '.join(stages)}: {why}" for why, stages in reasons.items())
    return f"At every setting tried, {said}"


def _whole(fit: TrialFit) -> Iterator[str]:
    if fit.common:
        names = [trial.name for trial in fit.trials if not trial.by_stage]
        why = f"tips were not counted by stage in {_list(names)}" if names else "asked for"
        yield (
            f"one common factor on the kick energies of all duties ({why}): how the stages compare "
            "with each other stays as assumed"
        )
    if fit.left_out:
        names = [trial.name for trial in fit.left_out]
        yield f"not used, because their tips have no stage: {_list(names)}"
    many = [trial.name for trial in fit.trials if trial.tipped > MANY * trial.cans]
    if many:
        yield (
            f"more than one can in a hundred tipped in {_list(many)}: tipped cans then block "
            "others, which the model leaves out"
        )
    lines = {trial.line for trial in fit.trials}
    if len(lines) > 1:
        names = [line or "(unnamed)" for line in sorted(lines)]
        yield f"trials of {len(lines)} lines fitted as one: {_list(names)}; --line keeps to one"
    for duty in dict.fromkeys(stage.duty for stage in fit.scenario.stages):
        rates = {s.kicks.rate_per_s for s in fit.scenario.stages if s.duty == duty}
        if len(rates) > 1 and fit.group(duty).status == "fitted":
            yield (
                f"{duty}: stages get kicks at {min(rates):g} to {max(rates):g} per second, as "
                "assumed; the fitted energy is valid only with these rates"
            )


def _odd(fit: TrialFit) -> Iterator[str]:
    """Name trials and stages that do not go with the others."""
    found = fit.dispersion
    if found.freedom and found.ratio > 1.0:
        factor = found.widening(fit.confidence)
        why = (
            ": a can that tips takes others along, or settings varied" if found.ratio > 2.0 else ""
        )
        yield (
            f"variance over mean of the counts is {found.ratio:.2g}, expected 1 for single tips"
            f"{why}; intervals are {math.sqrt(factor):.2g} times as wide (quasi-likelihood factor "
            f"{factor:.2g})"
        )
    for one in fit.counts:
        if one.swapped:
            yield (
                f"trial {one.trial.name!r}: the counts of {' and '.join(one.swapped)} go far "
                "better with the other trials the other way round: were the stages mixed up?"
            )
        elif one.odd and one.from_others is not None:
            low, high = one.from_others
            yield (
                f"trial {one.trial.name!r}: {_cans(one.trial.tipped)} tipped, the other trials "
                f"lead to {low:,} to {high:,}: was a setting changed midway, or a width measured "
                "wrong?"
            )
    for stage in fit.by_stage:
        if stage.p_value < RARE / max(1, len(fit.by_stage)):
            yield (
                f"{stage.stage}: {_cans(stage.tipped)} tipped, the fit expects "
                f"{stage.expected:,.3g} (p = {stage.p_value:.2g}): it does not go with the other "
                "stages of its duty, or tips of another stage were counted there"
            )


def _places(fit: TrialFit) -> Iterator[str]:
    """Compare where cans tipped with where the model says they do."""
    found = fit.places
    if found is None:
        return
    total, expected = sum(found.counted), sum(found.expected)
    left, centre, right = (100.0 * count / total for count in found.counted)
    model = " / ".join(f"{100.0 * each / expected:.0f}" for each in found.expected)
    told = (
        f"of {total:,.0f} tipped, {left:.0f} / {centre:.0f} / {right:.0f} % were at the left edge, "
        f"in the centre, at the right edge; the model expects {model} % (p = {found.p_value:.2g})"
    )
    if fit.contradicted:
        yield f"NO FORECAST: {fit.contradicted}. {told[0].upper()}{told[1:]}"
    else:
        yield f"{told}: consistent"


def _cans(count: int) -> str:
    return "1 can" if count == 1 else f"{count} cans"


def _list(names: list[str]) -> str:
    return ", ".join(repr(name) for name in names)
