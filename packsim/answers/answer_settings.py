"""One stage with one can size at many settings at once: what single answers say, as arrays."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import fields, replace
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike

from packsim.answers.many_answers import ManyAnswers
from packsim.answers.stage_arrays import StageArrays, judged
from packsim.answers.stage_pack import alike_mm, clear_headers
from packsim.answers.worst_can import (
    balances_rad,
    stage_moments,
    towards_guides,
)
from packsim.arrays import Floats, Ints
from packsim.can import Can
from packsim.errors import InputError, finite
from packsim.line import Scenario, Stage
from packsim.line.knobs import knob
from packsim.pack.lattice import lane_places_mm

MOST_SETTINGS: Final = 1_000_000
"""More settings than a machine keeps in memory at once."""

_TOGETHER: Final = ("clear-width", "wire-height", "fill", "pressure")
_AT_ONCE: Final = 1000  # pressures looked at together: arrays of some megabytes


def answer_settings(
    scenario: Scenario, stage: str, size: str, settings: Mapping[str, ArrayLike]
) -> ManyAnswers:
    """Answer one stage with one can size at many settings.

    Parameters
    ----------
    scenario : Scenario
        The case; everything but the knobs stays as it is.
    stage, size : str
        Names of both.
    settings : mapping of str to array_like
        Values of each knob that is turned, by its name as in a sweep (``clear-width``,
        ``wire-height``, ``fill``, ``pressure`` …), in the units inside the package; broadcast
        together to any shape of at most `MOST_SETTINGS`.

    Returns
    -------
    ManyAnswers
        Slack, guide window, safe slack, tip index and verdict of every setting, arrays of that
        shape.

    Raises
    ------
    InputError
        If a name is unknown, arrays do not broadcast, or a value cannot be.

    Notes
    -----
    For each number of lanes the slack budget is a straight line in the clear width, and what a
    spray pushes grows as its pressure: clear width, wire height, fill and pressure cost a few
    microseconds a setting. Each different set of values of the other knobs costs about as much as
    one answer.

    Examples
    --------
    >>> from packsim import load_scenario
    >>> line = load_scenario("scenarios/first_look.toml")
    >>> found = answer_settings(line, "wash", "211 body", {"clear-width": [588.0, 592.0, 640.0]})
    >>> found.lanes.tolist(), found.verdict.tolist()
    ([10, 10, 11], ['held', 'held', 'held'])
    >>> [round(float(slack), 1) for slack in found.slack_mm]
    [6.8, 10.8, 1.6]
    """
    index, can = scenario.stages.index(scenario.stage(stage)), scenario.size(size)
    names = [knob(name).name for name in settings]
    try:
        given = np.broadcast_arrays(*(np.asarray(settings[n], dtype=np.float64) for n in names))
    except ValueError as error:
        raise InputError("settings", error, "arrays that broadcast together") from error
    shape = given[0].shape if given else ()
    if not 0 < math.prod(shape) <= MOST_SETTINGS:
        raise InputError("settings", math.prod(shape), f"1 to {MOST_SETTINGS} settings")
    at = {name: values.ravel() for name, values in zip(names, given, strict=True)}
    for name, values in at.items():
        for odd in values[~np.isfinite(values)][:1]:
            finite(name, odd)
    rest = [name for name in names if name not in _TOGETHER]
    columns = np.stack([np.zeros(math.prod(shape)), *(at[name] for name in rest)], axis=-1)
    each, back = np.unique(columns, axis=0, return_inverse=True)
    parts = []
    for k, (_, *values) in enumerate(each.tolist()):
        case = scenario
        for name, value in zip(rest, values, strict=True):
            case = knob(name).set(case, index, value)
        here = np.flatnonzero(back.ravel() == k)
        together = {name: at[name][here] for name in names if name in _TOGETHER}
        parts.append((here, _of_group(case, index, can, together, len(here))))
    return joined(parts, shape)


def joined(parts: Sequence[tuple[Ints, ManyAnswers]], shape: tuple[int, ...]) -> ManyAnswers:
    """Put answers of several parts together, each at its places, in a shape."""
    order = np.argsort(np.concatenate([places for places, _ in parts]))
    arrays: dict[str, Any] = {
        field.name: np.concatenate([getattr(part, field.name) for _, part in parts], axis=-1)
        for field in fields(ManyAnswers)
    }
    return ManyAnswers(
        **{key: _shaped(values[..., order], shape) for key, values in arrays.items()}
    )


def _shaped(values: Any, shape: tuple[int, ...]) -> Any:
    return values.reshape((*values.shape[:-1], *shape))


def _of_group(
    scenario: Scenario, index: int, can: Can, at: Mapping[str, Floats], count: int
) -> ManyAnswers:
    """Answer settings that differ in knobs of `_TOGETHER` alone."""
    for name, values in at.items():
        for value in (float(values.min()), float(values.max())):  # what cannot be says so
            turned = knob(name).set(scenario, index, value)
        if name == "clear-width":  # set to any width, brackets stand alike
            scenario = turned
    top = len(scenario.stages[index].guides.wires.heights_mm) - 1
    places = {
        "clear-width": "clear_width()",
        "fill": "fill",
        "wire-height": f"guides.wires.heights_mm.{top}",
    }
    turned_to = {f"stages.{index}.{places[name]}": v for name, v in at.items() if name in places}
    case = StageArrays(scenario, index, scenario.sizes.index(can), count, turned_to)
    balance, weakest = (np.empty(count) for _ in range(2))
    push, stage = at.get("pressure", np.ones(count)), case.stage
    for n in np.unique(case.lanes).tolist():
        here = case.lanes == n
        lines = lane_places_mm(n, can.diameter_mm, stage.layout, stage.guides.centre_mm)
        found = _pushed_rad(stage, can, scenario.mat.open_fraction, lines, push[here])
        balance[here], weakest[here] = found
    return judged(case, balance, weakest, scenario.factor)


def _pushed_rad(
    stage: Stage, can: Can, open_fraction: float, lines_mm: Floats, pushes: Floats
) -> tuple[Floats, Floats]:
    """Least balance angles, to a guide and any way, under sprays of some pressures [rad].

    The moments are those of the least pressure, under which a can leans farthest.
    """
    shares, back = np.unique(pushes, return_inverse=True)
    base = float(shares[shares > 0.0].min(initial=math.inf))
    base = 1.0 if math.isinf(base) else base
    headers = tuple(
        replace(h, pressure_MPa=h.pressure_MPa * base) for h in clear_headers(stage, can.height_mm)
    )
    moments = stage_moments(headers, can, open_fraction, alike_mm(lines_mm))
    across, found = towards_guides(stage.layout), []
    for part in np.array_split(shares / base, math.ceil(len(shares) / _AT_ONCE)):
        ends = [balances_rad(moments, can.stance(q), part) for q in set(stage.water_in_dome)]
        least = np.min(ends, axis=0)
        found.append((least[:, across].min(axis=1), least.min(axis=1)))
    balance, weakest = (np.concatenate(one)[back] for one in zip(*found, strict=True))
    return balance, weakest
