"""The check of headers as tables and sentences for the terminal."""

import math
from collections.abc import Sequence

import numpy as np
from rich.console import Group, RenderableType
from rich.text import Text

from packsim.headers import HeaderCheck, PlaceDose, SideCheck, WhatIf
from packsim.line import Scenario
from packsim.nozzles.lane_lines import worth_a_shift_mm
from packsim.report.terminal.parts import Row, WideTable, closing, line_head, merged_table, points
from packsim.report.words.display import Display
from packsim.report.words.header_words import (
    WORK_LEGEND,
    blown_words,
    landing_table,
    pipe_warnings,
    taken_words,
    where_words,
    work_table,
)
from packsim.report.words.numbers import lane_words, percent, signed, stage_words

WHAT_IF_LEGEND = (
    ("plugged", "in the headers at those stations, one at a time; the others spray as before"),
    ("tip margin", "share of its resistance to tipping a can keeps under the sprays; 0: it tips"),
    ("nozzle", "the plugged nozzle that costs most of the tip margin, where one does"),
    ("holes off", "each its own way for the dose; for the tip margin each side as a whole"),
)

LEGEND = (
    ("off", "how far a lane is from its nearest nozzle of that side; rms: over all lanes"),
    ("lane no.", "the worst lane, counted from the left"),
    ("spray wide", "width of one spray on the can tops (above) or the mat (below)"),
    ("overlap", "width two neighbouring sprays share; below 0 it is a dry stripe"),
    ("sprays at a point", "how many sprays overlap at one point, on average"),
    ("mean", "mL each can gets in the stage; outside: what falls between cans and runs down them"),
    ("even", "Christiansen's uniformity over the lanes; 100 % when all get the same"),
    ("least, most", "the lane that gets least and the lane that gets most, as parts of the mean"),
    ("under, over", "lanes that get less than 0.8, more than 1.25 of the mean"),
)

SIDE_HEADS = (
    *("<side", "headers ×\nnozzles", "worst\noff", "lane\nno.", "rms\noff"),
    *("spray\nwide", "overlap", "sprays at\na point"),
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
    parts: list[RenderableType] = [line_head(scenario, display, note)]
    for size in dict.fromkeys(check.at.can.name for check in checks):
        mine = [check for check in checks if check.at.can.name == size]
        parts += [*_size(mine, display), Text()]
    assumed = [a for check in checks for a in check.assumed]
    asked = any(check.what_if for check in checks)
    return Group(
        *parts,
        closing(
            LEGEND + WORK_LEGEND + (WHAT_IF_LEGEND if asked else ()), assumed, scenario, display
        ),
    )


def _size(checks: Sequence[HeaderCheck], display: Display) -> list[RenderableType]:
    can = checks[0].at.can
    lanes = " or ".join(str(n) for n in dict.fromkeys(check.at.pack.lanes for check in checks))
    title = (
        f"{can.name}: {display.length(can.diameter_mm)} across, "
        f"{display.length(can.height_mm)} high, {lanes} lanes ({display.lengths_in})"
    )
    parts: list[RenderableType] = [Text(title, style="bold")]
    parts.append(points(summary(checks, display)))
    of = [check.at.stage.name for check in checks]
    sides = [(c.at.stage.name, _side(c, s, display)) for c in checks for s in c.sides]
    if sides:
        parts.append(merged_table("stage", SIDE_HEADS, sides, of))
    doses = [(c.at.stage.name, _dose(d)) for c in checks for d in c.doses]
    if doses:
        parts.append(merged_table("stage", DOSE_HEADS, doses, of))
    for heads, rows in (work_table(checks, display), landing_table(checks, display)):
        if rows:
            parts.append(merged_table("stage", heads, rows, of))
    for check in checks:
        if check.what_if:
            parts.append(Text(f"What if, {check.at.stage.name}: the lane that gets least", "bold"))
            parts.append(what_if_table(check.what_if, display))
    if len(checks) == 1 and checks[0].at.pack.fits:
        parts.append(_lanes(checks[0], display))
    return parts


def summary(checks: Sequence[HeaderCheck], display: Display) -> list[str]:
    """Return what stands out for one size over all its stages, a sentence each."""
    of = [check.at.stage.name for check in checks]
    lines = [f"{c.at.stage.name}: {c.at.pack.reason}" for c in checks if not c.at.pack.fits]
    low = [c for c in checks if c.at.blocked]
    if low:
        where = stage_words([c.at.stage.name for c in low], of)
        lines.append(f"cans hit a header above: its dose is left out, raise it: {where}")
    met = [(side, c) for c in checks for side in c.sides]
    if met:
        side, check = max(met, key=lambda one: one[0].now.worst_mm)
        lines.append(
            f"farthest from a nozzle: lane {side.now.worst_lane + 1} in {check.at.stage.name}, "
            f"{display.length(side.now.worst_mm)} from the nearest one {side.side}"
        )
        if side.now.worst_mm > worth_a_shift_mm(check.at.can.diameter_mm):
            lines[-1] += (
                ". See whether a shift of the pack brings it nearer: packsim nozzles shift; what "
                "headers made for this size do: packsim nozzles design"
            )
    dry = [c for side, c in met if side.narrowest is not None and side.narrowest.overlap_mm < 0.0]
    if dry:
        names = list(dict.fromkeys(c.at.stage.name for c in dry))
        lines.append(f"dry stripes between neighbouring sprays: {stage_words(names, of)}")
    lines += _uneven(checks, of)
    for told in (taken_words, pipe_warnings, blown_words):
        lines += told(checks, display)
    apart = _inner_spread(checks)
    if math.isfinite(apart):
        lines.append(
            "leaving out two lanes at each edge, the lanes' doses inside and on top differ by at "
            f"most {percent(apart)}"
        )
    open_walls = [float(c.exposed_share.mean()) for c in checks if len(c.exposed_share)]
    if open_walls:
        low_high = dict.fromkeys(percent(x) for x in (min(open_walls), max(open_walls)))
        lines.append(
            f"{' to '.join(low_high)} of each side wall can be reached by a spray straight down; "
            "neighbours hide the rest"
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
                    key = (words, where_words(dose.place, dose.medium), lane_words(lanes))
                    found.setdefault(key, []).append(check.at.stage.name)
                    edges.add(words == "under" and set(lanes) <= {0, last})
    lines = [
        f"{words}-washed {where}: lanes {lanes} ({stage_words(stages, of)})"
        for (words, where, lanes), stages in found.items()
    ]
    if edges == {True}:
        lines.append(
            "only the edge lanes are under-washed, because no nozzle stands outside them: add one "
            "nozzle at each end"
        )
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


def _side(check: HeaderCheck, side: SideCheck, display: Display) -> tuple[str, ...]:
    short = display.bare
    counts = {h.count for h in side.headers}
    nozzles = "/".join(str(n) for n in sorted(counts))
    cells = (
        side.side,
        f"{len(side.headers)} × {nozzles}",
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
        where_words(dose.place, dose.medium),
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
    columns = [[display.bare(float(x)) for x in check.at.lines_mm]]
    for side in check.sides:
        heads.append(f"off\n{side.side}")
        columns.append([display.bare(float(x), signed=True) for x in side.now.per_lane_mm])
    for dose in check.doses:
        heads.append(f"{where_words(dose.place, dose.medium)}\nmL")
        columns.append([f"{x:.2f}" for x in dose.by_lane_mL])
    rows: list[Row] = [
        (str(i + 1), tuple(column[i] for column in columns)) for i in range(len(columns[0]))
    ]
    return merged_table("lane", heads, rows, ())


def what_if_table(rows: Sequence[WhatIf], display: Display) -> RenderableType:
    """Return what becomes of doses and tip margin, headers for which it is the same together."""
    heads = []
    for dose in rows[0].doses:
        heads += [f"{dose.place}\nmL", "lane", "change"]
    costly = any(_costs(row) for row in rows)
    table = WideTable("", [*heads, "tip\nmargin", "change", *["nozzle"] * costly])
    alike: dict[tuple[str, ...], list[WhatIf]] = {}
    for row in rows:
        cells = [row.what, row.side, row.size, str(row.nozzle), f"{row.amount:g}"]
        for dose in row.doses:
            change = percent(dose.change_share, 0) if row is not rows[0] else ""
            cells += [f"{dose.worst_mL:.2f}", str(dose.lane), change]
        cells += [signed(row.hold_margin, 2)]
        cells += ["" if row is rows[0] else signed(row.hold_margin_change, 2, plus=True)]
        cells += [str(row.hold_nozzle) if _costs(row) else ""] * costly
        alike.setdefault(tuple(cells), []).append(row)
    for shown, same in alike.items():
        table.add_row(_named(same, display), *shown[5:])
    return table


def _costs(row: WhatIf) -> bool:
    """Whether a plugged nozzle costs any tip margin that shows."""
    return row.hold_nozzle > 0 and row.hold_margin_change < -0.005


def _named(rows: Sequence[WhatIf], display: Display) -> str:
    """Say what is not as drawn."""
    row = rows[0]
    if row.what == "plugged":
        where = ", ".join(display.bare(each.station_mm) for each in rows)
        return f"nozzle {row.nozzle} plugged {row.side}, at {where}"
    if row.what in ("left", "right"):
        return f"pack {display.length(row.amount)} to the {row.what}"
    if row.what == "holes":
        return f"holes off by {display.length(row.amount)}"
    if row.what == "pressure":
        return f"pressures {signed(100.0 * row.amount, 0, plus=True)} %"
    if row.what == "stand-off":
        return f"headers as far off as from {row.size}"
    return row.what
