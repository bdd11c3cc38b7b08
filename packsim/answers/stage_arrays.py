"""One stage with one can size at many values of its inputs: its fields as arrays, what follows."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, Final

import numpy as np

from packsim.answers.many_answers import ManyAnswers
from packsim.arrays import Floats, Ints
from packsim.can import Stances
from packsim.constants import GRAVITY_M_PER_S2
from packsim.line import Scenario, Stage
from packsim.line.guides import even_gaps
from packsim.pack.lattice import lane_pitch_mm, lanes_width_mm
from packsim.tipping.safe_slack import centre_slack_mm, edge_slack_mm, gathered_leans_rad
from packsim.tipping.stops import lean_index
from packsim.width.guide_window import window_ends_mm
from packsim.width.lane_rule import full_per_metre, lanes_between
from packsim.width.loaded_wire import LoadedWire, loaded_wire
from packsim.width.slack_terms import OF_GUIDES, SlackInputs

OF_STAGE: Final = frozenset(
    {
        "clear_width()",
        "pack_centre_from_left()",
        "bracket_spacing()",
        "length()",
        "water_in_dome()",
        "fill",
        "temperature_C",
        "pack_pressure_N_per_m",
        "hold_down_mm",
        "guides.setting_temperature_C",
        "guides.frame_expansion_per_K",
        *(f"guides.{name}" for name in OF_GUIDES),
        "guides.wires.tension_N",
        "guides.wires.mass_kg_per_m",
        "guides.wires.stiffness_N",
        "guides.wires.expansion_per_K",
        "guides.wires.anchored",
    }
)
"""Places of a stage that are looked at as arrays here, besides its wires and brackets."""


@dataclass(frozen=True)  # no slots: what follows is kept beside the fields once asked for
class StageArrays:
    """A stage and a can size, some of their fields at many values each.

    Parameters
    ----------
    scenario : Scenario
        The line as it is.
    stage_index, size_index : int
        Which stage and which size.
    count : int
        How many values, n.
    values : mapping of str to ndarray, shape (n,)
        By place, as in `packsim.line.input_range.InputRange`: ``stages.0.fill``.
    """

    scenario: Scenario
    stage_index: int
    size_index: int
    count: int
    values: Mapping[str, Floats]

    @property
    def stage(self) -> Stage:
        """The stage as it is."""
        return self.scenario.stages[self.stage_index]

    def of_stage(self, place: str) -> Floats | None:
        """Values of a place of the stage, None where it stays as it is."""
        return self.values.get(f"stages.{self.stage_index}.{place}")

    def field(self, place: str) -> Floats:
        """Values of a field of the stage, alike where it stays as it is."""
        found = self.of_stage(place)
        if found is not None:
            return found
        now: Any = self.stage
        for name in place.split("."):
            now = now[int(name)] if isinstance(now, tuple) else getattr(now, name)
        return self._alike(now)

    def of_can(self, name: str) -> Floats:
        """Values of a field of the can, alike where it stays as it is."""
        found = self.values.get(f"sizes.{self.size_index}.{name}")
        can = self.scenario.sizes[self.size_index]
        return self._alike(getattr(can, name)) if found is None else found

    def only(self, where: Ints) -> StageArrays:
        """Return some of the cases."""
        some = {place: each[where] for place, each in self.values.items()}
        return replace(self, count=len(where), values=some)

    def _alike(self, value: float | None) -> Floats:
        return np.full(self.count, math.nan if value is None else value, dtype=np.float64)

    @cached_property
    def _widths_mm(self) -> tuple[Floats, Floats]:
        """Clear width of the narrowest and of the widest bracket [mm]."""
        if (width := self.of_stage("clear_width()")) is not None:
            now = self.stage.guides
            apart = now.widest_mm - now.narrowest_mm if now.shape == "funnel" else 0.0
            return width, width + apart
        left, right = (self._of_brackets(f"{side}_mm") for side in ("left", "right"))
        return (right - left).min(axis=0), (right - left).max(axis=0)

    def _of_brackets(self, field: str) -> Floats:
        """Values of a field of every bracket, shape (brackets, n)."""
        count = len(self.stage.guides.brackets)
        return np.array([self.field(f"guides.brackets.{k}.{field}") for k in range(count)])

    @property
    def clear_width_mm(self) -> Floats:
        """Clear width at the narrowest bracket [mm]."""
        return self._widths_mm[0]

    @cached_property
    def lanes_and_fill(self) -> tuple[Ints, Floats]:
        """Lanes the stage is judged by, and how full they are."""
        layout, fill, diameter = self.stage.layout, self.field("fill"), self.of_can("diameter_mm")
        fit, lanes = lanes_between(self.clear_width_mm, diameter, layout, fill)
        some = np.maximum(lanes, 1)
        delivered = fill * full_per_metre(np.maximum(fit, 1), diameter, layout)
        full = full_per_metre(some, diameter, layout)
        return lanes, np.where(lanes > 0, np.minimum(1.0, delivered / full), fill)

    @property
    def lanes(self) -> Ints:
        """Lanes the stage is judged by; 0 where not one can fits."""
        return self.lanes_and_fill[0]

    @cached_property
    def pack_width_mm(self) -> Floats:
        """Width of the touching pack of those lanes, of one can where none fits [mm]."""
        lanes = np.maximum(self.lanes, 1)
        return lanes_width_mm(lanes, self.of_can("diameter_mm"), self.stage.layout)

    @cached_property
    def _span_mm(self) -> Floats | None:
        """Span whose middle can be farthest out [mm]; None with a single bracket."""
        stations = self._of_brackets("station_mm")
        if len(stations) < 2:
            return None
        span = np.diff(stations, axis=0).max(axis=0)
        spacing, length = self.of_stage("bracket_spacing()"), self.of_stage("length()")
        if spacing is not None:
            span = self.stage.length_mm / even_gaps(self.stage.length_mm, spacing)
        told = any(place.endswith(".station_mm") and ".brackets." in place for place in self.values)
        if length is None or told:  # brackets whose places are told stand there
            return np.asarray(span)
        return np.asarray(span * (length / self.stage.length_mm))

    @cached_property
    def wire(self) -> LoadedWire | None:
        """The wires of the slackest span; None with a single bracket."""
        if self._span_mm is None:
            return None
        warming = self.field("temperature_C") - self.field("guides.setting_temperature_C")
        grows = self.field("guides.wires.expansion_per_K")
        wires = len(self.stage.guides.wires.heights_mm)
        return loaded_wire(
            tension_N=self.field("guides.wires.tension_N"),
            weight_N_per_m=self.field("guides.wires.mass_kg_per_m") * GRAVITY_M_PER_S2,
            push_N_per_m=self.field("pack_pressure_N_per_m") / wires,
            stiffness_N=self.field("guides.wires.stiffness_N"),
            strain=(grows - self.field("guides.frame_expansion_per_K")) * warming,
            span_mm=self._span_mm,
            anchored=self.field("guides.wires.anchored") > 0.5,
        )

    @cached_property
    def wires_mm(self) -> Floats:
        """Heights of the wires where they hang lowest, shape (k, n); NaN for one that is gone."""
        drop = np.zeros(self.count) if self.wire is None else self.wire.drop_mm
        heights = range(len(self.stage.guides.wires.heights_mm))
        low = np.array([self.field(f"guides.wires.heights_mm.{k}") for k in heights]) - drop
        return np.where(low > 0.0, low, math.nan)

    @cached_property
    def slack(self) -> SlackInputs:
        """What the slack budget follows from."""
        narrow, wide = self._widths_mm
        return SlackInputs(
            clear_width_mm=narrow,
            widest_mm=narrow if self.stage.guides.shape == "funnel" else wide,
            pack_width_mm=self.pack_width_mm,
            diameter_mm=self.of_can("diameter_mm"),
            diameter_tol_mm=self.of_can("diameter_tol_mm"),
            warming_K=self.field("temperature_C") - self.field("guides.setting_temperature_C"),
            can_expansion_per_K=self.of_can("expansion_per_K"),
            frame_expansion_per_K=self.field("guides.frame_expansion_per_K"),
            outward_mm=0.0 if self.wire is None else self.wire.outward_mm,
            **{name: self.field(f"guides.{name}") for name in OF_GUIDES},
        )

    @cached_property
    def dry(self) -> Stances:
        """The cans without water."""
        return Stances(*(self.of_can(f) for f in ("diameter_mm", "height_mm", "mass_kg", "cg_mm")))

    @cached_property
    def wet(self) -> tuple[Stances, ...]:
        """The cans with the dome water they may have, at both ends of what it may be."""
        depth, rim = self.of_can("dome_depth_mm"), self.of_can("dome_rim_radius_mm")
        known = self.of_stage("water_in_dome()")
        ends: list[float | Floats] = list(dict.fromkeys(self.stage.water_in_dome))
        if known is not None:  # NaN where it stays as it is
            open_yet = np.isnan(known)
            ends = [
                np.where(open_yet, end, known) for end in (ends if open_yet.any() else ends[:1])
            ]
        return tuple(self.dry.with_pool(depth, rim, share) for share in ends)


def judged(
    case: StageArrays, balance_rad: Floats, weakest_rad: Floats, factor: float
) -> ManyAnswers:
    """Judge every case, its least balance angles known.

    Parameters
    ----------
    case : StageArrays
        The stage and the size, of n cases.
    balance_rad, weakest_rad : ndarray, shape (n,)
        Least balance angle to a guide and in any direction [rad].
    factor : float
        Safety factor [-].

    Returns
    -------
    ManyAnswers
        Arrays of shape (n,).
    """
    tight, loose = case.slack.cases_mm()
    height, wires, lanes = case.dry.height_mm, list(case.wires_mm), case.lanes
    edge, _ = edge_slack_mm(height, balance_rad, wires)
    safe = np.minimum(edge, centre_slack_mm(height, balance_rad))
    low, high, _ = window_ends_mm(
        case.clear_width_mm,
        (tight, loose),
        (case.slack.growth, case.slack.growth),
        lane_mm=lane_pitch_mm(case.dry.diameter_mm, case.stage.layout),
        allowed_mm=safe / factor,
    )
    leans = gathered_leans_rad(loose, wires, height)
    at_edge, inside = (
        np.where(lanes > 0, lean_index(lean, balance_rad), math.nan) for lean in leans
    )
    return ManyAnswers(
        layout=np.full(case.count, case.stage.layout),
        diameter_mm=case.dry.diameter_mm,
        height_mm=height,
        clear_width_mm=case.clear_width_mm,
        fill=case.lanes_and_fill[1],
        wires_mm=case.wires_mm,
        hold_down_mm=case.field("hold_down_mm"),
        lanes=lanes,
        slack_mm=case.clear_width_mm - case.pack_width_mm,
        least_slack_mm=tight,
        loosest_slack_mm=loose,
        balance_rad=balance_rad,
        weakest_rad=weakest_rad,
        safe_slack_mm=safe,
        allowed_slack_mm=safe / factor,
        window_low_mm=np.where(low > high, math.nan, low),
        window_high_mm=np.where(low > high, math.nan, high),
        window_missing_mm=np.maximum(low - high, 0.0),
        index_edge=at_edge,
        index_centre=inside,
    )
