"""The knobs of headers: pressure, stand-off, angle and place by side; pitch and count of all."""

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Final

from packsim.errors import InputError
from packsim.line.knob import Knob
from packsim.line.spray import SIDES, Header
from packsim.line.stage import Stage


def _row(header: Header, pitch_mm: float, count: int) -> Header:
    """Return a header with another pitch and count; the middle of its row stays where it is."""
    middle = header.first_mm + header.pitch_mm * (header.count - 1) / 2.0
    first = round(middle - pitch_mm * (count - 1) / 2.0, 9)
    return replace(header, first_mm=first, pitch_mm=pitch_mm, count=count)


def _counted(header: Header, count: float) -> Header:
    if count != round(count):
        raise InputError("count", f"{count:g}", "a whole number of nozzles")
    return _row(header, header.pitch_mm, round(count))


def _angled(header: Header, angle_rad: float) -> Header:
    return replace(header, nozzle=replace(header.nozzle, angle_rad=angle_rad))


def _headers(
    name: str,
    kind: str,
    what: str,
    turn: Callable[[Header, float], Header],
    now: Callable[[Header], float],
    side: str = "",
) -> Knob:
    """Return the knob of every header of a stage, or of one side of the mat."""

    def set_all(stage: Stage, value: float) -> Stage:
        if all(side not in ("", h.side) for h in stage.headers):
            where = f" {side} the mat" if side else ""
            raise InputError("header", "none" + where, "a stage with a header" + where)
        headers = tuple(turn(h, value) if side in ("", h.side) else h for h in stage.headers)
        return replace(stage, headers=headers)

    def most(stage: Stage) -> float:
        return max((now(h) for h in stage.headers if side in ("", h.side)), default=math.nan)

    return Knob(name, kind, what, set_all, most)


def _of_side(side: str) -> tuple[Knob, ...]:
    """Return the knobs of the headers of one side."""
    where = f"every header {side} the mat"
    return (
        _headers(
            f"pressure-{side}",
            "pressure",
            f"pressure of {where}",
            lambda h, value: replace(h, pressure_MPa=value),
            lambda h: h.pressure_MPa,
            side,
        ),
        _headers(
            f"stand-off-{side}",
            "length",
            f"distance of the nozzle tips from the mat, {where}",
            lambda h, value: replace(h, mat_distance_mm=value),
            lambda h: h.mat_distance_mm,
            side,
        ),
        _headers(
            f"spray-angle-{side}",
            "angle",
            f"opening angle of the sprays of {where}",
            _angled,
            lambda h: h.nozzle.angle_rad,
            side,
        ),
        _headers(
            f"station-{side}",
            "place",
            f"move of {where} along travel",
            lambda h, value: replace(h, station_mm=h.station_mm + value),
            lambda h: 0.0,
            side,
        ),
        Knob(
            f"stagger-{side}",
            "place",
            f"move of every second header {side} the mat to the right",
            lambda stage, value: _staggered(stage, side, value),
            lambda stage: 0.0,
        ),
    )


def _staggered(stage: Stage, side: str, aside_mm: float) -> Stage:
    """Move every second header of a side, counted along travel, to the right."""
    along = sorted((h for h in stage.headers if h.side == side), key=lambda h: h.station_mm)
    if len(along) < 2:
        raise InputError("header", f"{len(along)} {side} the mat", "two or more headers there")
    second = along[1::2]
    headers = tuple(
        replace(h, first_mm=h.first_mm + aside_mm) if h in second else h for h in stage.headers
    )
    return replace(stage, headers=headers)


SIDE_KNOBS: Final = tuple(knob for side in SIDES for knob in _of_side(side))
ROW_KNOBS: Final = (
    _headers(
        "nozzle-pitch",
        "length",
        "pitch of the nozzles of every header, their middle kept",
        lambda h, value: _row(h, value, h.count),
        lambda h: h.pitch_mm,
    ),
    _headers(
        "nozzle-count",
        "count",
        "nozzles of every header, their pitch and middle kept",
        _counted,
        lambda h: float(h.count),
    ),
)
