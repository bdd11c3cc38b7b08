"""Tables of one stage: brackets, kicks, headers, and the stage itself."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from packsim.line import DUTIES, LAYOUTS, STATES
from packsim.line.spray import MAX_NOZZLES
from packsim.scenario import kinds as k
from packsim.scenario.fields import (
    Angle,
    Choice,
    Energy,
    Gap,
    Length,
    Name,
    Of,
    Place,
    Rate,
    Share,
    Table,
    Temperature,
)
from packsim.scenario.line_tables import MAX_ROWS, GuidesTable

__all__ = ["BracketTable", "HeaderTable", "KicksTable", "SettingTable", "StageTable"]


class BracketTable(Table):
    """The holders at one station."""

    station: Gap = Field(description="Place along the stage.")
    left: Place = Field(description="Left face, from the mat's left edge looking downstream.")
    right: Place = Field(description="Right face, from the same edge.")


class KicksTable(Table):
    """How the stage shakes each can."""

    energy: Energy | None = Field(default=None, description="Mean energy a kick gives a can.")
    rate: Rate | None = Field(default=None, description="Kicks a can gets per second.")
    step: Gap | None = Field(default=None, description="Root-mean-square sideways step per kick.")
    drift: Annotated[float, Of(k.DRIFT)] | None = Field(
        default=None, description="Steady sideways drift, to the right if positive."
    )
    trial: Name | None = Field(
        default=None,
        description="Trial that energy and rate come from; without one they are assumed.",
    )


class HeaderTable(Table):
    """A pipe across the mat with equally spaced nozzles."""

    side: Annotated[str, Choice(("above", "below"))] = Field(description="Side of the mat.")
    station: Gap = Field(description="Place along the stage.")
    mat_distance: Length = Field(description="Nozzle tips to the mat surface.")
    first: Place = Field(description="First nozzle, from the mat's left edge.")
    pitch: Length = Field(description="Nozzle pitch.")
    count: int = Field(ge=1, le=MAX_NOZZLES, description="Number of nozzles.")
    pressure: Annotated[float, Of(k.PRESSURE)] = Field(description="Gauge pressure at the nozzle.")
    pattern: Annotated[str, Choice(("cone", "fan"))] = Field(description="Full cone or flat fan.")
    angle: Angle = Field(description="Full opening angle; of a fan, in its wide plane.")
    thin_angle: Angle | None = Field(
        default=None, description="Full opening angle of a fan, thin side."
    )
    twist: Annotated[float, Of(k.TWIST)] | None = Field(
        default=None, description="Turn of a fan's wide plane from straight across the mat."
    )
    flow: Annotated[float, Of(k.FLOW)] = Field(description="Rated flow of one nozzle.")
    at_pressure: Annotated[float, Of(k.RATED_PRESSURE)] = Field(
        description="Pressure of that rating."
    )
    velocity_coefficient: Annotated[float, Of(k.VELOCITY_SHARE)] | None = Field(
        default=None, description="Jet speed over the ideal one."
    )
    density: Annotated[float, Of(k.DENSITY)] | None = Field(
        default=None, description="Density of what is sprayed; water where left out."
    )


class SettingTable(Table):
    """What the stage was set to for a size that ran before, to be set so again."""

    size: Name = Field(description="Name of the can size.")
    clear_width: Length | None = Field(
        default=None, description="Guide face to guide face at every bracket."
    )
    centre: Place | None = Field(
        default=None,
        description="Middle of the pass, from the mat's left edge; the mat's own middle.",
    )
    brackets: list[BracketTable] | None = Field(
        default=None,
        min_length=1,
        max_length=MAX_ROWS,
        description="Instead of clear_width, at the stations of the stage's brackets.",
    )
    wire_heights: list[Length] | None = Field(
        default=None,
        min_length=1,
        max_length=100,
        description="Wire heights that belong to this size, lowest first.",
    )
    hold_down: Length | None = Field(
        default=None, description="Underside of a hold-down above the mat."
    )


class StageTable(Table):
    """One section of the washer or oven."""

    name: Name = Field(description="Name as painted on the machine.")
    duty: Annotated[str, Choice(DUTIES)] = Field(description="What it is for.")
    length: Length = Field(description="Length along travel.")
    temperature: Temperature | None = Field(
        default=None, description="Temperature of cans and frame."
    )
    layout: Annotated[str, Choice(LAYOUTS)] | None = Field(
        default=None, description="Close-packed lines along the guides, or straight across."
    )
    state: Annotated[str, Choice(STATES)] | None = Field(
        default=None, description="How the pack fills an inexact width."
    )
    fill: Annotated[float, Of(k.FILL)] | None = Field(
        default=None, description="Share of the perfect pack that the infeed delivers."
    )
    dome_pool: Share | None = Field(default=None, description="How full the dome recesses are.")
    clear_width: Length | None = Field(default=None, description="Guide face to guide face.")
    centre: Place | None = Field(
        default=None,
        description="Middle of the pass, from the mat's left edge; the mat's own middle.",
    )
    bracket_spacing: Length | None = Field(default=None, description="Longest bracket distance.")
    brackets: list[BracketTable] | None = Field(
        default=None, min_length=1, max_length=MAX_ROWS, description="Instead of clear_width."
    )
    guides: GuidesTable = Field(
        default=GuidesTable(), description="What differs from [guides] here."
    )
    hold_down: Length | None = Field(
        default=None, description="Underside of a hold-down above the mat."
    )
    pack_pressure: Annotated[float, Of(k.LINE_FORCE)] | None = Field(
        default=None, description="Sideways push of the pack on each guide."
    )
    kicks: KicksTable = Field(default=KicksTable(), description="How it shakes the pack.")
    headers: list[HeaderTable] = Field(
        default=[], max_length=MAX_ROWS, description="Spray headers."
    )
    settings: list[SettingTable] = Field(
        default=[], max_length=MAX_ROWS, description="Settings on record, one for a size."
    )
