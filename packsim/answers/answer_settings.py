"""One stage with one can size at many settings at once: what single answers say, as arrays."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike

from packsim.answers.many_answers import ManyAnswers
from packsim.answers.stage_pack import alike_mm, clear_headers, drop_mm
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
from packsim.pack.lattice import lane_places_mm, lanes_width_mm
from packsim.tipping.safe_slack import centre_slack_mm, edge_slack_mm, gathered_leans_rad
from packsim.tipping.stops import lean_index
from packsim.width.guide_window import window_ends_mm
from packsim.width.lane_rule import lanes_between
from packsim.width.slack_budget import slack_budget

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
    arrays = {
        key: values.reshape((*values.shape[:-1], *shape)) for key, values in _joined(parts).items()
    }
    return ManyAnswers(stage=scenario.stages[index], can=can, **arrays)


def _joined(parts: Sequence[tuple[Ints, dict[str, Any]]]) -> dict[str, Any]:
    """Put arrays of several parts together, the last axis of each at its places."""
    order = np.argsort(np.concatenate([places for places, _ in parts]))
    return {
        key: np.concatenate([part[key] for _, part in parts], axis=-1)[..., order]
        for key in parts[0][1]
    }


def _of_group(
    scenario: Scenario, index: int, can: Can, at: Mapping[str, Floats], count: int
) -> dict[str, Any]:
    """Answer settings that differ in knobs of `_TOGETHER` alone, arrays of shape (..., count)."""
    for name, values in at.items():
        for value in (float(values.min()), float(values.max())):  # what cannot be says so
            turned = knob(name).set(scenario, index, value)
        if name == "clear-width":  # set to any width, brackets stand alike
            scenario = turned
    stage = scenario.stages[index]
    hold_down = math.nan if stage.hold_down_mm is None else stage.hold_down_mm
    heights = [np.full(count, z) for z in stage.guides.wires.heights_mm]
    wires = np.array([*heights[:-1], at.get("wire-height", heights[-1])]) - drop_mm(stage)
    given = {
        "clear_width_mm": at.get("clear-width", np.full(count, stage.guides.narrowest_mm)),
        "fill": at.get("fill", np.full(count, stage.fill)),
        "wires_mm": np.where(wires > 0.0, wires, math.nan),
        "hold_down_mm": np.full(count, hold_down),
    }
    push = at.get("pressure", np.ones(count))
    width, fill = given["clear_width_mm"], given["fill"]
    _, lanes = lanes_between(width, can.diameter_mm, stage.layout, fill)
    parts = []
    for n in np.unique(lanes).tolist():
        here = np.flatnonzero(lanes == n)
        part = {key: values[..., here] for key, values in given.items()}
        parts.append((here, part | _of_lanes(scenario, stage, can, n, push[here], part)))
    return _joined(parts)


def _of_lanes(
    scenario: Scenario,
    stage: Stage,
    can: Can,
    lanes: int,
    pushes: Floats,
    given: Mapping[str, Floats],
) -> dict[str, Any]:
    """Answer settings at which a stage is judged by some number of lanes."""
    width, wires = given["clear_width_mm"], list(given["wires_mm"])
    pack_mm = lanes_width_mm(max(lanes, 1), can.diameter_mm, stage.layout)
    budget = slack_budget(stage, can, pack_mm)
    lines = lane_places_mm(lanes, can.diameter_mm, stage.layout, stage.guides.centre_mm)
    balance, weakest = _pushed_rad(stage, can, scenario.mat.open_fraction, lines, pushes)
    tight, loose = budget.cases_mm(width, "worst")
    edge, _ = edge_slack_mm(can.height_mm, balance, wires)
    safe = np.minimum(edge, centre_slack_mm(can.height_mm, balance))
    low, high, _ = window_ends_mm(budget, safe, scenario.factor, "worst")
    leans = gathered_leans_rad(loose, wires, can.height_mm)
    at_edge, inside = (lean_index(lean, balance) if lanes else _none(width) for lean in leans)
    return {
        "lanes": np.full(width.shape, lanes),
        "slack_mm": width - pack_mm,
        "least_slack_mm": tight,
        "loosest_slack_mm": loose,
        "balance_rad": balance,
        "weakest_rad": weakest,
        "safe_slack_mm": safe,
        "allowed_slack_mm": safe / scenario.factor,
        "window_low_mm": np.where(low > high, math.nan, low),
        "window_high_mm": np.where(low > high, math.nan, high),
        "window_missing_mm": np.maximum(low - high, 0.0),
        "index_edge": at_edge,
        "index_centre": inside,
    }


def _none(like: Floats) -> Floats:
    return np.full(like.shape, math.nan)


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
