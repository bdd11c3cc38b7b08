"""The reasons behind one stage and size for the terminal."""

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from packsim.answers.quantities import quantity
from packsim.constants import MM_PER_INCH
from packsim.report.terminal.parts import closing
from packsim.report.terminal.why_rows import (
    Row,
    energy_rows,
    height_rows,
    slack_rows,
    width_rows,
)
from packsim.report.words.display import Display
from packsim.report.words.numbers import percent
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
        ("If a can leans", _leaning_rows(found, display)),
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
    short = display.bare
    place = f"{short(spray.across_mm)} from the mat's left edge"
    rows: list[Row] = [
        (
            "worst lane",
            f"{place}; worst {short(spray.along_mm)} from the start of the stage, {spray.towards}",
            f"lane {spray.lane}",
        ),
        (
            "weight rights it with",
            "weight × (R cos α − h sin α), at the tip angle, dome water included",
            display.moment(spray.weight_moment_N_mm),
        ),
    ]
    for one in spray.headers:
        how = "tips it on, about the edge it leans over"
        if one.moment_N_mm < 0.0:
            how = "rights it, about the same edge"
        where = f"{one.side}, at {short(one.station_mm)}"
        rows.append((where, how, display.moment(one.moment_N_mm, plus=True)))
    rows += [
        (_MARGIN, "least of any lane, anywhere in the stage", f"{spray.hold_margin:.2f}"),
    ]
    if spray.best_shift_mm is not None:
        how = f"{_ANGLE} then {display.angle(spray.balance_angle_shifted_rad)}; {_MARGIN}"
        name = f"pack shifted {short(spray.best_shift_mm, signed=True)}"
        rows.append((name, how, f"{spray.hold_margin_shifted:.2f}"))
    return rows


def _leaning_rows(found: Reasons, display: Display) -> list[Row]:
    """Return what a can does that leans too far, and how one by itself rocks."""
    angle, rock = display.angle, found.rocking
    friction = f"friction {found.scenario.mat.friction:g}"
    rows: list[Row] = []
    for name, slide in (("on a neighbour", found.on_neighbour), ("on a wire", found.on_wire)):
        if slide is not None:
            how = f"leans {angle(slide.lean_rad)}; without spray, {friction} keeps its base from "
            how += f"slipping up to {angle(slide.limit_rad)}"
            rows.append((f"loosest, {name}", how, slide.outcome))

    def speed(mm_per_s: float) -> str:
        inch = display.units == "inch"
        return f"{mm_per_s / MM_PER_INCH:.1f} in/s" if inch else f"{mm_per_s:.0f} mm/s"

    rows += [
        (
            "time of one rocking",
            f"let go at half its balance angle, {angle(rock.start_rad)}",
            f"{rock.period_s:.2f} s",
        ),
        ("turning speed it keeps", "at each landing on its base, at most", percent(rock.kept, 0)),
        ("kick that topples it", "level, at its top", f"{1e3 * rock.impulse_N_s:.1f} mN·s"),
        (
            "jolt that topples it",
            "sudden change of the mat speed, no spray",
            speed(rock.speed_mm_per_s),
        ),
    ]
    if found.spray is not None:
        how = "where the sprays leave it least, in the weakest direction"
        rows.append(("the same, sprays on", how, speed(rock.sprayed_speed_mm_per_s)))
    return rows
