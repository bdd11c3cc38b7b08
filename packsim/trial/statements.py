"""What the counts can tell and what they cannot, in plain words."""

from collections.abc import Iterator
from typing import Final

from packsim.trial.groups import GroupFit, TrialFit
from packsim.trial.trial import Trial
from packsim.trial.two_rates import two_count_p

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
    found = []
    for group in fit.groups:
        found += list(_ruled_out(fit, group))
    for group in fit.groups:
        found += list(_about(fit, group))
    found += list(_whole(fit))
    found += list(_places(fit))
    return tuple(found)


def _ruled_out(fit: TrialFit, group: GroupFit) -> Iterator[str]:
    """Name counts that the model cannot produce."""
    used = [t for t in fit.trials if t not in fit.left_out]
    for one in group.ruled_out:
        trial = used[one.trial]
        case = one.curves[0].case
        where = f"at {case.stage}" if len(one.curves) == 1 else "somewhere on the line"
        why = case.why_never if len(one.curves) == 1 else "no stage lets a can tip there"
        yield (
            f"{_cans(one.tipped)} tipped {where} in trial {trial.name!r}, where the model lets "
            f"none: {why}. These tips are not in the fit; the slack there is larger than set, or "
            "the model is wrong there"
        )


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
            "fitted. Gaps on the floor are larger than slack shared out at random: try "
            "--model gathered, or --case loosest"
        )
    else:
        if group.settings == 1:
            yield (
                f"{name}: one setting only. How tips change with the clear width is not tested: "
                "predictions at other widths rest on the model alone"
            )
        if group.tipped < 5:
            yield f"{name}: the fit rests on {_cans(group.tipped)} tipped; its interval is rough"
        if group.quality is not None and group.quality.poor:
            yield (
                f"{name}: the fit is poor; the counts differ from it by more than chance (p = "
                f"{group.quality.p_value:.3g}). Either tips come in clusters, or a setting was "
                "not what was written down, or the model is wrong. The intervals are too narrow"
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
    for trial in fit.trials:
        line = fit.line(trial.size)
        for index, stage in enumerate(fit.scenario.stages):
            if stage.duty in group.duties:
                case = line.case(index, trial.width_mm(stage.name))
                why = case.why_never or "the sprays alone tip every can, whatever the kicks"
                stages = reasons.setdefault(why, [])
                if stage.name not in stages:
                    stages.append(stage.name)
    said = "; ".join(f"{', '.join(stages)}: {why}" for why, stages in reasons.items())
    return f"At every setting tried: {said}"


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
    for trial in fit.left_out:
        line = fit.line(trial.size)
        widths = [count.clear_width_mm for count in trial.stages]
        if all(line.case(i, width).why_never for i, width in enumerate(widths)):
            yield (
                f"{_cans(trial.tipped)} tipped in trial {trial.name!r}, where the model lets none "
                "tip at any stage: the slack there is larger than set, or the model is wrong"
            )
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


def _places(fit: TrialFit) -> Iterator[str]:
    """Compare where cans tipped with where the model says they do."""
    told = [trial for trial in fit.trials if trial.by_place is not None]
    left, centre, right = (sum((t.by_place or (0, 0, 0))[i] for t in told) for i in range(3))
    if not told or left + centre + right == 0:
        return
    p_side = two_count_p(left, right)
    if p_side < RARE:
        side = "left" if left > right else "right"
        yield (
            f"more cans tip at the {side} edge ({left} left, {right} right; p = {p_side:.2g}): "
            "look for mat skew, cross-flow or a guide out of line. The model knows no difference"
        )
    share = _edge_share(fit, told)
    if share is None:
        return
    from scipy.stats import binomtest

    edges, total = left + right, left + centre + right
    p_edge = float(binomtest(edges, total, share).pvalue)
    yield (
        f"{edges} of {total} ({100 * edges / total:.0f} %) tipped at the edges; the model expects "
        f"{100 * share:.0f} %: "
        + (f"not consistent (p = {p_edge:.2g})" if p_edge < RARE else "consistent")
    )


def _edge_share(fit: TrialFit, told: list[Trial]) -> float | None:
    edges = total = 0.0
    for trial in told:
        found = fit.predict(trial.size, [[count.clear_width_mm for count in trial.stages]])
        left, centre, right = found.by_place[0] * trial.cans
        edges += left + right
        total += left + centre + right
    return edges / total if total > 0.0 else None


def _cans(count: int) -> str:
    return "1 can" if count == 1 else f"{count} cans"


def _list(names: list[str]) -> str:
    return ", ".join(repr(name) for name in names)
