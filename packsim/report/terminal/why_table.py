"""The reasons behind one stage and size for the terminal."""

from __future__ import annotations

import math

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from packsim.report.terminal.nozzle_tables import closing
from packsim.report.terminal.why_rows import (
    Row,
    energy_rows,
    height_rows,
    leaning_rows,
    slack_rows,
    width_rows,
)
from packsim.report.words.display import Display
from packsim.why import Reasons, SprayTerms

__all__ = ["why_report"]

NAME_WIDTH = 27
VALUE_WIDTH = 17
"""Least widths of the first two columns, so that the parts stand under each other."""

LEGEND = (
    ("gathered, as laid", "the pack pushed to one side; parted along travel where fill is below 1"),
    ("own, as laid", "one can leans, its neighbours stand still"),
    ("governs", "the wire that lets an edge can go last, and so sets the limit at the guide"),
    ("hold margin", "(N R − |B|) / (m g R): 1 without spray, 0 turns a can over"),
    ("cannot", "the slack is spent before the can reaches its balance point"),
    ("falls back, rests", "upright again by itself; stays leaning; slides out: its base slips"),
)


def why_report(found: Reasons, display: Display) -> Group:
    """Return the reasons for the terminal.

    Parameters
    ----------
    found : Reasons
        The reasons.
    display : Display
        Unit system.

    Returns
    -------
    rich.console.Group
        How wide, how much slack, how high, what the sprays do, what tipping costs, and what is
        assumed.
    """
    answer, unit = found.answer, display.length_unit
    title = f"{answer.stage}, {answer.size}: why (lengths in {unit})"
    parts: list[RenderableType] = [Text(title, style="bold"), Text()]
    for head, rows in (
        ("How wide", width_rows(found, display)),
        ("How much slack", slack_rows(found, display)),
        ("How high", height_rows(found, display)),
        ("What the sprays do", _spray_rows(found.spray, display)),
        ("What tipping costs", energy_rows(found, display)),
        ("If a can leans", leaning_rows(found, display)),
    ):
        if rows:
            parts += [Text(head, style="bold"), Padding(_grid(rows), (0, 0, 1, 2))]
    return Group(*parts, closing(LEGEND, found.assumed, found.scenario))


def _grid(rows: list[Row]) -> Table:
    table = Table.grid(padding=(0, 2))
    table.add_column(no_wrap=True, min_width=NAME_WIDTH)
    table.add_column(justify="right", min_width=VALUE_WIDTH)
    table.add_column(style="dim", overflow="fold")
    for name, how, value in rows:
        table.add_row(Text(name), Text(value), Text(how))
    return table


def _spray_rows(spray: SprayTerms | None, display: Display) -> list[Row]:
    """Return the sprays header by header at the worst moment, and what a shift would do."""
    if spray is None:
        return []

    def short(mm: float | None, *, signed: bool = False) -> str:
        return display.length(mm, unit=False, signed=signed)

    place = f"{short(spray.across_mm)} from the mat's left edge"
    rows: list[Row] = [
        ("worst lane", f"{place}, worst at {short(spray.along_mm)} along", f"lane {spray.lane}"),
        ("weight", "m g, pool included", _newton(spray.weight_N)),
    ]
    for push in spray.headers:
        sign = 1.0 if push.side == "above" else -1.0
        how = f"sideways {_pair(push.lateral_N, 'N')}; moment {_pair(push.moment_N_mm, 'N·mm')}"
        where = f"{push.side}, at {short(push.station_mm)}"
        rows.append((where, how, f"{sign * push.push_N:+.4f} N"))
    ratio = spray.moment_N_mm / spray.weight_N if spray.weight_N else math.nan
    rows += [
        ("left on the mat", "sum of these, N", _newton(spray.normal_N)),
        (
            "overturning moment",
            f"|B|, worst direction; as much as the weight {short(ratio)} off the middle",
            f"{spray.moment_N_mm:.3f} N·mm",
        ),
        ("balance it takes", "asin(|B| / (N ρ))", display.angle(spray.lost_rad)),
        ("hold margin", "least of any lane anywhere", f"{spray.margin_now:.2f}"),
    ]
    if spray.shift_mm is not None:
        how = f"balance sprayed {display.angle(spray.balance_rad)} → "
        how += f"{display.angle(spray.shifted_balance_rad)}; hold margin"
        name = f"pack shifted {short(spray.shift_mm, signed=True)}"
        rows.append((name, how, f"{spray.margin_shifted:.2f}"))
    return rows


def _newton(value: float) -> str:
    return f"{value:.4f} N"


def _pair(pair: tuple[float, float], unit: str) -> str:
    digits = 4 if unit == "N" else 3
    along, across = (round(value, digits) + 0.0 for value in pair)  # no -0.000
    return f"{along:+.{digits}f} along, {across:+.{digits}f} {unit} across"
