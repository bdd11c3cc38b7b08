"""A sweep as a table, as CSV and as plain data."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from rich.console import Group, RenderableType
from rich.text import Text

from packsim.plain import number
from packsim.report.files.spreadsheet import Cell, csv_text
from packsim.report.terminal.wide_table import WideTable
from packsim.report.words.assumed import assumed_rows
from packsim.report.words.display import Display, per_million
from packsim.sweep import Sweep, SweepRow

SWEEP_UNITS: Final = {
    "length": "mm",
    "place": "mm",
    "share": "",
    "ratio": "×",
    "pressure": "bar",
    "force": "N",
    "line force": "N/m",
    "temperature": "°C",
}
"""Unit a table or a chart shows each kind of knob in, metric."""


@dataclass(frozen=True, slots=True)
class _Column:
    key: str
    head: str
    of: Callable[[SweepRow], float]


def _window(row: SweepRow, end_mm: float) -> float:
    return math.nan if row.answer.window.empty else end_mm


SWEEP_COLUMNS: Final = (
    _Column("slack_mm", "slack as set", lambda r: r.answer.budget.slack_mm),
    _Column("loosest_slack_mm", "slack loosest", lambda r: r.answer.tipping.loosest_slack_mm),
    _Column("safe_slack_mm", "safe slack", lambda r: r.answer.tipping.safe.slack_mm),
    _Column("index_edge", "tip index edge", lambda r: r.answer.tipping.loosest.edge),
    _Column("index_centre", "tip index inside", lambda r: r.answer.tipping.loosest.centre),
    _Column("index_own", "tip index own", lambda r: r.answer.tipping.own_index),
    _Column("gathered_slack_mm", "slack gathered", lambda r: r.answer.tipping.gathered.slack_mm),
    _Column("index_gathered", "tip index gathered", lambda r: r.answer.tipping.gathered.index),
    _Column(
        "balance_deg", "balance sprayed", lambda r: math.degrees(r.answer.tipping.balance_angle_rad)
    ),
    _Column("hold_margin", "hold margin", lambda r: r.hold_margin),
    _Column("tips_per_million", "tips per million", lambda r: r.answer.chance.per_million),
    _Column("window_low_mm", "window low", lambda r: _window(r, r.answer.window.low_mm)),
    _Column("window_high_mm", "window high", lambda r: _window(r, r.answer.window.high_mm)),
    _Column(
        "misalignment_mm",
        "nozzles off",
        lambda r: math.nan if r.answer.alignment is None else r.answer.alignment.now.worst_mm,
    ),
    _Column(
        "hold_down_mm",
        "hold-down over tops",
        lambda r: math.nan if r.answer.hold_down is None else r.answer.hold_down.clearance_mm,
    ),
    _Column(
        "hold_down_limit_mm",
        "hold-down blocks below",
        lambda r: math.nan if r.answer.hold_down is None else r.answer.hold_down.limit_mm,
    ),
)
"""Every column of a sweep, the same in table, CSV and JSON."""


def shown_value(sweep: Sweep, value: float, display: Display) -> tuple[float, str]:
    """Return a knob's value and its unit as this display shows them."""
    kind = sweep.knob.kind
    if kind in ("length", "place"):
        return display.length_value(value), display.length_unit
    if kind == "pressure":
        return display.pressure_value(value)
    return value, SWEEP_UNITS[kind]


def sweep_table(sweep: Sweep, display: Display) -> RenderableType:
    """Return a sweep for the terminal.

    Parameters
    ----------
    sweep : Sweep
        The sweep.
    display : Display
        Unit system.
    """
    _, unit = shown_value(sweep, 0.0, display)
    heading = Text(f"{sweep.stage}, {sweep.size}: {sweep.knob.what}", style="bold")
    head = f"{sweep.knob.name}\n[{unit}]" if unit else sweep.knob.name
    table = WideTable(head.replace("-", "\n", 1))
    for column in SWEEP_COLUMNS:
        table.add_column(column.head.replace(" ", "\n"))
    table.add_column("verdict", "left")
    for row in sweep.rows:
        shown, _ = shown_value(sweep, row.value, display)
        cells = [_cell(column, row, display) for column in SWEEP_COLUMNS]
        table.add_row(f"{shown:.5g}", *cells, row.answer.tipping.verdict)
    names = [stage.name for stage in sweep.scenario.stages]
    keys = assumed_rows(sweep.rows[0].answer.assumed, names, display.units)
    assumed = Text("Assumed: " + "; ".join(f"{key} = {value}" for key, value, _ in keys), "dim")
    kicks = sweep.scenario.stage(sweep.stage).kicks.trial
    rest = [Text(f"Kicks fitted to {kicks}")] if kicks else []
    return Group(heading, table, Text(_crossing(sweep, display)), *rest, Text(), assumed)


def sweep_csv(sweep: Sweep) -> str:
    """Return a sweep as CSV: the knob in the units of its kind (mm, bar, N), then every column."""
    head = f"{sweep.knob.name} [{SWEEP_UNITS[sweep.knob.kind]}]".replace(" []", "")
    metric = Display("metric")
    rows: list[list[Cell]] = [
        [
            shown_value(sweep, row.value, metric)[0],
            *(column.of(row) for column in SWEEP_COLUMNS),
            row.answer.tipping.verdict,
        ]
        for row in sweep.rows
    ]
    return csv_text([head, *(column.key for column in SWEEP_COLUMNS), "verdict"], rows)


def sweep_json(sweep: Sweep) -> dict[str, Any]:
    """Return a sweep as plain data; None for a number that does not exist."""
    metric = Display("metric")

    return {
        "schema": 1,
        "scenario": sweep.scenario.name,
        "seed": sweep.scenario.seed,
        "stage": sweep.stage,
        "size": sweep.size,
        "over": sweep.knob.name,
        "unit": SWEEP_UNITS[sweep.knob.kind],
        "now": number(shown_value(sweep, sweep.now, metric)[0]),
        "rows": [
            {"value": shown_value(sweep, row.value, metric)[0]}
            | {column.key: number(column.of(row)) for column in SWEEP_COLUMNS}
            | {"verdict": row.answer.tipping.verdict}
            for row in sweep.rows
        ],
        "assumed": [str(each) for each in sweep.rows[0].answer.assumed],
    }


def _cell(column: _Column, row: SweepRow, display: Display) -> str:
    value = column.of(row)
    if column.key.endswith("_mm"):
        return display.length(value, unit=False)
    if column.key == "balance_deg":
        return f"{value:.1f}°"
    if column.key == "tips_per_million":
        return per_million(value)
    return display.index(value)


def _crossing(sweep: Sweep, display: Display) -> str:
    at = sweep.crossing
    if at is None:
        return "The tip index does not cross 1 in this range."
    shown, unit = shown_value(sweep, at, display)
    return f"The tip index crosses 1 at {shown:.5g} {unit}.".replace(" .", ".")
