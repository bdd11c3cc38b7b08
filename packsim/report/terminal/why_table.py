"""The reasons behind one stage and size for the terminal."""

import math

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from packsim.answers.quantities import quantity
from packsim.report.terminal.parts import closing
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

NAME_WIDTH = 28
VALUE_WIDTH = 17
"""Least widths of the first two columns, so that the parts stand under each other."""

_ANGLE, _MARGIN = (quantity(key).heading for key in ("balance_angle_deg", "hold_margin"))

LEGEND = (
    ("slack gathered", "all cans pushed together; parted along travel where fill is below 1"),
    ("one can alone", "one can leans, its neighbours stand still"),
    (_MARGIN, "(N R − |B|) / (m g R): 1 without spray, 0 turns a can over"),
    ("not possible", "the gap is used up before the can reaches its balance point"),
    (
        "falls back",
        "the can stands up again by itself; rests: it stays leaning; slides out: its base slips",
    ),
)


def why_report(found: Reasons, display: Display) -> Group:
    """Return the reasons for the terminal."""
    answer = found.answer
    title = f"{answer.stage}, {answer.size}: why ({display.settings_in})"
    parts: list[RenderableType] = [Text(title, style="bold"), Text()]
    for head, rows in (
        ("How wide", width_rows(found, display)),
        ("How much slack", slack_rows(found, display)),
        ("How high", height_rows(found, display)),
        ("What the sprays do", _spray_rows(found.spray, display)),
        ("Energy needed to tip a can", energy_rows(found, display)),
        ("If a can leans", leaning_rows(found, display)),
    ):
        if rows:
            parts += [Text(head, style="bold"), Padding(_grid(rows), (0, 0, 1, 2))]
    return Group(*parts, closing(LEGEND, found.assumed, found.scenario, display))


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
    short, force = display.bare, display.force
    place = f"{short(spray.across_mm)} from the mat's left edge"
    rows: list[Row] = [
        (
            "worst lane",
            f"{place}; worst {short(spray.along_mm)} from the start of the stage",
            f"lane {spray.lane}",
        ),
        ("weight", "of the can with the water in its dome", force(spray.weight_N, 4)),
    ]
    for push in spray.headers:
        sign = 1.0 if push.side == "above" else -1.0
        side, turn = push.lateral_N, push.moment_N_mm
        how = (
            f"sideways {force(side[0], 4, plus=True)} along, {force(side[1], 4, plus=True)} across;"
            f" moment {display.moment(turn[0], plus=True)} along, "
            f"{display.moment(turn[1], plus=True)} across"
        )
        where = f"{push.side}, at {short(push.station_mm)}"
        rows.append((where, how, force(sign * push.push_N, 4, plus=True)))
    ratio = spray.moment_N_mm / spray.weight_N if spray.weight_N else math.nan
    rows += [
        ("left on the mat, N", "sum of these", force(spray.normal_N, 4)),
        (
            "overturning moment",
            f"|B|, worst direction; as if the weight were {short(ratio)} off the middle",
            display.moment(spray.moment_N_mm),
        ),
        ("tip angle lost to sprays", "asin(|B| / (N ρ))", display.angle(spray.lost_rad)),
        (_MARGIN, "least of any lane, anywhere in the stage", f"{spray.hold_margin:.2f}"),
    ]
    if spray.best_shift_mm is not None:
        how = f"{_ANGLE}: {display.angle(spray.balance_angle_rad)} → "
        how += f"{display.angle(spray.balance_angle_shifted_rad)}; {_MARGIN}"
        name = f"pack shifted {short(spray.best_shift_mm, signed=True)}"
        rows.append((name, how, f"{spray.hold_margin_shifted:.2f}"))
    return rows
