"""The tables of a scenario file: which keys there are, and what each of them takes.

These models only say what a file may contain; `packsim.scenario.build` makes the nouns.
"""

from __future__ import annotations

from typing import Annotated, Final

from pydantic import BaseModel, ConfigDict, Field

from packsim.line import DUTIES, LAYOUTS, STATES
from packsim.line.spray import MAX_NOZZLES
from packsim.scenario import kinds as k
from packsim.scenario.fields import Choice, Name, Of, Text

__all__ = [
    "SCHEMA",
    "AssumedTable",
    "BracketTable",
    "FittedFile",
    "FittedTable",
    "GuidesTable",
    "HeaderTable",
    "KicksTable",
    "MatTable",
    "ScenarioFile",
    "SizeTable",
    "StageTable",
]

SCHEMA: Final = 1
"""The only layout of scenario files there is so far."""

MAX_STAGES: Final = 200
MAX_SIZES: Final = 200
MAX_ROWS: Final = 5000
"""Longest lists a file may hold; a line has a dozen stages and a stage a few dozen brackets."""

Length = Annotated[float, Of(k.LENGTH)]
Gap = Annotated[float, Of(k.GAP)]
Place = Annotated[float, Of(k.PLACE)]
Temperature = Annotated[float, Of(k.TEMPERATURE)]
Share = Annotated[float, Of(k.SHARE)]
Expansion = Annotated[float, Of(k.EXPANSION)]
Heat = Annotated[float, Of(k.HEAT)]
Force = Annotated[float, Of(k.FORCE)]
Energy = Annotated[float, Of(k.ENERGY)]
Rate = Annotated[float, Of(k.RATE)]
Angle = Annotated[float, Of(k.ANGLE)]


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


class AssumedTable(_Table):
    """One value of this file that nobody measured; saved files carry these along."""

    key: Name = Field(description="Path of the value.")
    value: Text = Field(description="The value as a person would write it.")
    why: Text = Field(description="Where it comes from.")


class MatTable(_Table):
    """The moving mat."""

    width: Length = Field(description="Usable width.")
    speed: Annotated[float, Of(k.SPEED)] = Field(description="Speed.")
    open_area: Share | None = Field(None, description="Share open to sprays from below.")
    friction: Annotated[float, Of(k.FRICTION)] | None = Field(
        None, description="Coefficient of static friction under a can."
    )
    mass_per_area: Annotated[float, Of(k.AREA_MASS)] | None = Field(
        None, description="Mass per area."
    )
    specific_heat: Heat | None = Field(None, description="Specific heat of its material.")


class SizeTable(_Table):
    """One can size: a catalogue entry with any values of your own, or a can of your own."""

    name: Name = Field(description="Your name for it.")
    catalogue: Name | None = Field(None, description="Catalogue id; leave out for your own can.")
    diameter: Length | None = Field(None, description="Outside diameter of the body.")
    diameter_tol: Gap | None = Field(None, description="Plus/minus tolerance of the diameter.")
    height: Length | None = Field(None, description="Height of the trimmed, un-necked body.")
    mass: Annotated[float, Of(k.MASS)] | None = Field(None, description="Mass of the dry body.")
    cg_height: Length | None = Field(
        None, description="Height of the dry body's centre of gravity, open end down."
    )
    dome_depth: Gap | None = Field(None, description="Depth of the dome recess.")
    dome_rim_radius: Gap | None = Field(None, description="Radius of the dome recess's rim.")
    expansion: Expansion | None = Field(None, description="Thermal expansion of the metal.")
    specific_heat: Heat | None = Field(None, description="Specific heat of the metal.")
    assumed: list[AssumedTable] = Field(
        [], max_length=MAX_ROWS, description="Which of these nobody measured."
    )


class GuidesTable(_Table):
    """What the side guides are made of; in [guides] for every stage, in a stage for that one."""

    wire_heights: list[Length] | None = Field(
        None, min_length=1, max_length=100, description="Heights above the mat, lowest first."
    )
    tension: Force | None = Field(None, description="Wire tension as set, cold.")
    wire_mass: Annotated[float, Of(k.LINE_MASS)] | None = Field(
        None, description="Wire mass per length."
    )
    wire_stiffness: Force | None = Field(None, description="Axial stiffness E A of a wire.")
    wire_expansion: Expansion | None = Field(None, description="Thermal expansion of the wire.")
    anchored: bool | None = Field(
        None, description="true: both wire ends fixed; false: a take-up keeps the tension."
    )
    bracket_spacing: Length | None = Field(
        None, description="Longest distance between brackets, where a stage lists none."
    )
    setting_temperature: Temperature | None = Field(
        None, description="Temperature at which the brackets were set."
    )
    setting_step: Gap | None = Field(None, description="Smallest step a bracket is set to.")
    wear: Gap | None = Field(None, description="Wear of one guide face.")
    travel_near: Place | None = Field(
        None, description="Nearest a face can be set to its mat edge; with travel_far."
    )
    travel_far: Place | None = Field(None, description="Farthest, likewise; with travel_near.")
    frame_expansion: Expansion | None = Field(
        None, description="Thermal expansion of the frame that carries the brackets."
    )


class BracketTable(_Table):
    """The holders at one station."""

    station: Gap = Field(description="Place along the stage.")
    left: Place = Field(description="Left face, from the mat's left edge looking downstream.")
    right: Place = Field(description="Right face, from the same edge.")


class KicksTable(_Table):
    """How the stage shakes each can."""

    energy: Energy | None = Field(None, description="Mean energy a kick gives a can.")
    rate: Rate | None = Field(None, description="Kicks a can gets per second.")
    step: Gap | None = Field(None, description="Root-mean-square sideways step per kick.")
    drift: Annotated[float, Of(k.DRIFT)] | None = Field(
        None, description="Steady sideways drift, to the right if positive."
    )
    trial: Name | None = Field(
        None, description="Trial that energy and rate come from; without one they are assumed."
    )


class HeaderTable(_Table):
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
    thin_angle: Angle | None = Field(None, description="Full opening angle of a fan, thin side.")
    twist: Annotated[float, Of(k.TWIST)] | None = Field(
        None, description="Turn of a fan's wide plane from straight across the mat."
    )
    flow: Annotated[float, Of(k.FLOW)] = Field(description="Rated flow of one nozzle.")
    at_pressure: Annotated[float, Of(k.RATED_PRESSURE)] = Field(
        description="Pressure of that rating."
    )
    velocity_coefficient: Annotated[float, Of(k.VELOCITY_SHARE)] | None = Field(
        None, description="Jet speed over the ideal one."
    )
    density: Annotated[float, Of(k.DENSITY)] | None = Field(
        None, description="Density of what is sprayed; water where left out."
    )


class StageTable(_Table):
    """One section of the washer or oven."""

    name: Name = Field(description="Name as painted on the machine.")
    duty: Annotated[str, Choice(DUTIES)] = Field(description="What it is for.")
    length: Length = Field(description="Length along travel.")
    temperature: Temperature | None = Field(None, description="Temperature of cans and frame.")
    layout: Annotated[str, Choice(LAYOUTS)] | None = Field(
        None, description="Close-packed lines along the guides, or straight across."
    )
    state: Annotated[str, Choice(STATES)] | None = Field(
        None, description="How the pack fills an inexact width."
    )
    fill: Annotated[float, Of(k.FILL)] | None = Field(
        None, description="Share of the perfect pack that the infeed delivers."
    )
    dome_pool: Share | None = Field(None, description="How full the dome recesses are.")
    clear_width: Length | None = Field(None, description="Guide face to guide face.")
    centre: Place | None = Field(
        None, description="Middle of the pass, from the mat's left edge; the mat's own middle."
    )
    bracket_spacing: Length | None = Field(None, description="Longest bracket distance.")
    brackets: list[BracketTable] | None = Field(
        None, min_length=1, max_length=MAX_ROWS, description="Instead of clear_width."
    )
    guides: GuidesTable = Field(GuidesTable(), description="What differs from [guides] here.")
    hold_down: Length | None = Field(None, description="Underside of a hold-down above the mat.")
    pack_pressure: Annotated[float, Of(k.LINE_FORCE)] | None = Field(
        None, description="Sideways push of the pack on each guide."
    )
    kicks: KicksTable = Field(KicksTable(), description="How it shakes the pack.")
    headers: list[HeaderTable] = Field([], max_length=MAX_ROWS, description="Spray headers.")


class ScenarioFile(_Table):
    """One case to be studied: a mat, its stages and the can sizes it runs."""

    schema_: int = Field(alias="schema", description=f"Layout of this file: {SCHEMA}.")
    name: Name = Field(description="Title.")
    about: Text = Field("", description="What the case stands for.")
    seed: int = Field(0, ge=0, lt=2**63, description="Seed of everything random.")
    factor: Annotated[float, Of(k.FACTOR)] | None = Field(
        None, description="Safety factor on the safe slack."
    )
    set_for: Name | None = Field(
        None, description="Size the guides are set for now; the first one where left out."
    )
    include: Name | None = Field(
        None, description="File of kicks fitted to trials, next to this one."
    )
    mat: MatTable = Field(description="The mat.")
    sizes: list[SizeTable] = Field(min_length=1, max_length=MAX_SIZES, description="Can sizes.")
    guides: GuidesTable = Field(GuidesTable(), description="Side guides of every stage.")
    stages: list[StageTable] = Field(
        min_length=1, max_length=MAX_STAGES, description="In order along travel."
    )
    assumed: list[AssumedTable] = Field(
        [], max_length=MAX_ROWS, description="Further values nobody measured."
    )


class FittedTable(_Table):
    """Kicks of one duty as fitted to a trial."""

    energy: Energy = Field(description="Mean energy a kick gives a can.")
    rate: Rate | None = Field(None, description="Kicks a can gets per second.")
    trial: Name = Field(description="The trial.")


class FittedFile(_Table):
    """What a scenario may include: fitted kicks by duty, ``[kicks.<duty>]``."""

    kicks: dict[Annotated[str, Choice(DUTIES)], FittedTable] = Field(
        max_length=len(DUTIES), description="One table for each duty."
    )
