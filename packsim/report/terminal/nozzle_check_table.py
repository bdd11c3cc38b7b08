"""The check of headers as tables and sentences for the terminal."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from rich.console import Group, RenderableType
from rich.text import Text

from packsim.headers import HeaderCheck, PlaceDose, SideCheck
from packsim.line import Scenario
from packsim.report.terminal.nozzle_tables import (
    Row,
    closing,
    heading,
    lane_words,
    merged_table,
    percent,
    stage_words,
)
from packsim.report.words.display import Display

__all__ = ["check_report"]

LEGEND = (
    ("off", "lane from its nearest nozzle of that side: worst, which lane from the left, rms"),
    ("spray", "width of one spray on the can tops (above) or the mat (below)"),
    ("overlap", "width two neighbouring sprays share; below 0 it is a dry stripe"),
    ("sprays deep", "sprays over one place on average"),
    ("mean", "mL each can gets in the stage; outside: what falls between cans and runs down them"),
    ("even", "Christiansen's uniformity over the lanes; 100 % when all get the same"),
    ("under, over", "lanes that get less than 0.8, more than 1.25 of the mean"),
)

SIDE_HEADS = (
    *("<side", "headers x\nnozzles", "off\nworst", "in\nlane", "off\nrms"),
    *("spray\nwide", "overlap", "sprays\ndeep"),
)
DOSE_HEADS = ("<where", "mean mL\nper can", "even", "least", "most", "<under", "<over")


def check_report(
    scenario: Scenario, checks: Sequence[HeaderCheck], display: Display, note: str = ""
) -> Group:
    """Return the check of headers for the terminal.

    Parameters
    ----------
    scenario : Scenario
        The case.
    checks : sequence of HeaderCheck
        Its checks.
    display : Display
        Unit system.
    note : str
        What to say about the guide setting, instead of whose it is.

    Returns
    -------
    rich.console.Group
        Per size: what stands out, alignment, dose; lane by lane where only one stage is looked at.
    """
    parts: list[RenderableType] = [heading(scenario, display, note)]
    for size in dict.fromkeys(check.at.can.name for check in checks):
        mine = [check for check in checks if check.at.can.name == size]
        parts += [*_size(mine, display), Text()]
    assumed = [a for check in checks for a in check.assumed]
    return Group(*parts, closing(LEGEND, assumed, scenario))


def _size(checks: Sequence[HeaderCheck], display: Display) -> list[RenderableType]:
    can = checks[0].at.can
    lanes = " or ".join(str(n) for n in dict.fromkeys(check.at.pack.lanes for check in checks))
    title = (
        f"{can.name}: {display.length(can.diameter_mm)} across, "
        f"{display.length(can.height_mm)} high, {lanes} lanes (lengths in {display.length_unit})"
    )
    parts: list[RenderableType] = [Text(title, style="bold")]
    parts += [Text(f"  {line}") for line in summary(checks, display)]
    of = [check.at.stage.name for check in checks]
    sides = [(c.at.stage.name, _side(c, s, display)) for c in checks for s in c.sides]
    if sides:
        parts.append(merged_table("stage", SIDE_HEADS, sides, of))
    doses = [(c.at.stage.name, _dose(d)) for c in checks for d in c.doses]
    if doses:
        parts.append(merged_table("stage", DOSE_HEADS, doses, of))
    if len(checks) == 1 and checks[0].at.pack.fits:
        parts.append(_lanes(checks[0], display))
    return parts


def summary(checks: Sequence[HeaderCheck], display: Display) -> list[str]:
    """Return what stands out for one size, a sentence each.

    Parameters
    ----------
    checks : sequence of HeaderCheck
        All stages of one size.
    display : Display
        Unit system.

    Returns
    -------
    list of str
        Packs that do not fit, headers in the way, worst misalignment, dry stripes, lanes
        under- and over-washed, walls in the open.
    """
    of = [check.at.stage.name for check in checks]
    lines = [f"{c.at.stage.name}: {c.at.pack.reason}" for c in checks if not c.at.pack.fits]
    low = [c for c in checks if c.at.blocked]
    if low:
        where = stage_words([c.at.stage.name for c in low], of)
        lines.append(f"a header above hangs into the cans and is left out of the doses: {where}")
    met = [(side, c) for c in checks for side in c.sides]
    if met:
        side, check = max(met, key=lambda one: one[0].now.worst_mm)
        lines.append(
            f"farthest from a nozzle: lane {side.now.worst_lane + 1} in {check.at.stage.name}, "
            f"{display.length(side.now.worst_mm)} from the nearest one {side.side}"
        )
    dry = [c for side, c in met if side.narrowest is not None and side.narrowest.overlap_mm < 0.0]
    if dry:
        names = list(dict.fromkeys(c.at.stage.name for c in dry))
        lines.append(f"dry stripes between neighbouring sprays: {stage_words(names, of)}")
    lines += _uneven(checks, of)
    apart = _inner_spread(checks)
    if math.isfinite(apart):
        lines.append(
            "without the two outer lanes of each side, doses inside and on top differ by at most "
            f"{percent(apart)} of their mean"
        )
    open_walls = [float(c.exposed_share.mean()) for c in checks if len(c.exposed_share)]
    if open_walls:
        low_high = dict.fromkeys(percent(x) for x in (min(open_walls), max(open_walls)))
        lines.append(
            f"outside walls in the open: {' to '.join(low_high)} of the circumference; "
            "neighbours hide the rest from a spray straight down"
        )
    return lines


def _uneven(checks: Sequence[HeaderCheck], of: Sequence[str]) -> list[str]:
    """Say which lanes get too little or too much, stages that say the same together."""
    found: dict[tuple[str, str, str], list[str]] = {}
    edges = set()
    for check in checks:
        last = check.at.pack.lanes - 1
        for dose in check.doses:
            for words, lanes in (("under", dose.even.under), ("over", dose.even.over)):
                if lanes:
                    key = (words, _where(dose), lane_words(lanes))
                    found.setdefault(key, []).append(check.at.stage.name)
                    edges.add(words == "under" and set(lanes) <= {0, last})
    lines = [
        f"{words}-washed {where}: lanes {lanes} ({stage_words(stages, of)})"
        for (words, where, lanes), stages in found.items()
    ]
    if edges == {True}:
        lines.append("only edge lanes: no nozzle stands beyond them to wash them from outside")
    return lines


def _inner_spread(checks: Sequence[HeaderCheck]) -> float:
    """Largest range of the doses inside and on top over their mean, edge lanes left out [-]."""
    spreads = [
        float(np.ptp(dose.by_lane_mL[2:-2])) / dose.even.mean
        for check in checks
        for dose in check.doses
        if dose.place != "outside" and len(dose.by_lane_mL) > 4 and dose.even.mean > 0.0
    ]
    return max(spreads, default=math.nan)


def _where(dose: PlaceDose) -> str:
    return dose.place if dose.medium == "liquid" else f"{dose.place} (gas)"


def _side(check: HeaderCheck, side: SideCheck, display: Display) -> tuple[str, ...]:
    def short(mm: float) -> str:
        return display.length(mm, unit=False)

    counts = {h.count for h in side.headers}
    nozzles = "/".join(str(n) for n in sorted(counts))
    cells = (
        side.side,
        f"{len(side.headers)} x {nozzles}",
        short(side.now.worst_mm),
        str(side.now.worst_lane + 1),
        short(side.now.rms_mm),
    )
    thin = side.narrowest
    if thin is None:
        return (*cells, "in the cans", "–", "–")
    return (*cells, short(thin.width_mm), short(thin.overlap_mm), f"{thin.layers:.1f}")


def _dose(dose: PlaceDose) -> tuple[str, ...]:
    even = dose.even
    return (
        _where(dose),
        f"{even.mean:.1f}",
        percent(even.coefficient),
        f"{even.least_share:.2f}",
        f"{even.most_share:.2f}",
        lane_words(even.under),
        lane_words(even.over),
    )


def _lanes(check: HeaderCheck, display: Display) -> RenderableType:
    """Return every lane of one stage: place, distance to the nozzles, dose."""
    heads = ["from mat's\nleft edge"]
    columns = [[display.length(x, unit=False) for x in check.at.lines_mm]]
    for side in check.sides:
        heads.append(f"off\n{side.side}")
        columns.append([display.length(x, unit=False, signed=True) for x in side.now.per_lane_mm])
    for dose in check.doses:
        heads.append(f"{_where(dose)}\nmL")
        columns.append([f"{x:.2f}" for x in dose.by_lane_mL])
    rows: list[Row] = [
        (str(i + 1), tuple(column[i] for column in columns)) for i in range(len(columns[0]))
    ]
    return merged_table("lane", heads, rows, ())
