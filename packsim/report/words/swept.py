"""The setting a sweep changes, in the unit it is shown in."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from packsim.report.words.display import N_PER_LBF, Display

if TYPE_CHECKING:
    from packsim.sweep import Sweep

SWEEP_UNITS: Final = {
    "length": "mm",
    "place": "mm",
    "share": "",
    "ratio": "×",
    "count": "",
    "angle": "°",
    "pressure": "bar",
    "force": "N",
    "line force": "N/m",
    "temperature": "°C",
}
"""Unit a table or a chart shows each kind of knob in, metric."""

_INCH: Final = {
    "force": (1.0 / N_PER_LBF, 0.0, "lbf"),
    "line force": (0.3048 / N_PER_LBF, 0.0, "lbf/ft"),
    "temperature": (1.8, 32.0, "°F"),
}
"""Factor, zero and unit in inch mode of kinds that no other place shows."""


def shown_value(sweep: Sweep, value: float, display: Display) -> tuple[float, str]:
    """Return a knob's value and its unit as this display shows them."""
    kind = sweep.knob.kind
    if kind in ("length", "place"):
        return display.length_value(value), display.length_unit
    if kind == "pressure":
        return display.pressure_value(value)
    if kind == "angle":
        return math.degrees(value), SWEEP_UNITS[kind]
    if display.metric:
        return value, SWEEP_UNITS[kind]
    scale, zero, unit = _INCH.get(kind, (1.0, 0.0, SWEEP_UNITS[kind]))
    return scale * value + zero, unit


def in_shown_units(sweep: Sweep) -> Sweep:
    """Return a sweep whose values are in the metric unit they are shown in, `SWEEP_UNITS`."""
    metric = Display("metric")
    rows = [replace(r, value=shown_value(sweep, r.value, metric)[0]) for r in sweep.rows]
    return replace(sweep, now=shown_value(sweep, sweep.now, metric)[0], rows=tuple(rows))
