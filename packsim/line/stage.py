"""One section of the washer or oven: its duty, guides, sprays and kicks, and settings on record."""

from __future__ import annotations

from dataclasses import dataclass, replace

from packsim.errors import InputError, between, finite, non_negative, one_of, positive, wire_heights
from packsim.line.guides import Bracket, Guides
from packsim.line.spray import Header


@dataclass(frozen=True, slots=True)
class KnownSetting:
    """The setting on record for one size in one stage.

    Parameters
    ----------
    size : str
        Name of the can size.
    brackets : tuple of Bracket
        Where every bracket stood, at the stations the stage's brackets have.
    wire_heights_mm : tuple of float or None
        Wire heights that belong to this size, lowest first; None where they are no matter of size
        [mm].
    hold_down_mm : float or None
        Height of the hold-down's underside above the mat, None where it was not noted [mm].
    """

    size: str
    brackets: tuple[Bracket, ...]
    wire_heights_mm: tuple[float, ...] | None = None
    hold_down_mm: float | None = None

    def __post_init__(self) -> None:
        if not self.brackets:
            raise InputError("brackets", "none", "at least one bracket")
        if self.wire_heights_mm is not None:
            wire_heights("wire_heights_mm", self.wire_heights_mm)
        if self.hold_down_mm is not None:
            positive("hold_down_mm", self.hold_down_mm)

    @property
    def narrowest_mm(self) -> float:
        """Least clear width at any bracket [mm]."""
        return min(bracket.clear_width_mm for bracket in self.brackets)


@dataclass(frozen=True, slots=True)
class Duty:
    """What a duty means for a stage, and what stands in for what nobody measured there.

    Parameters
    ----------
    kick_energy_mJ, kicks_per_s : float
        Mean energy of a kick [mJ] and kicks a can gets each second [1/s]: invented.
    sprays, heats : bool
        Whether such a stage may carry spray headers, and whether it heats cans and mat in air.
    water_in_dome : tuple of float
        How full the dome recesses may be, from and to, 0..1 [-].
    water_why : str
        Why that full.
    """

    kick_energy_mJ: float
    kicks_per_s: float
    sprays: bool = False
    heats: bool = False
    water_in_dome: tuple[float, float] = (0.0, 1.0)
    water_why: str = "empty to brim full: each question takes the fill that is worse for it"


DUTIES = {
    "flood": Duty(0.05, 2.0, sprays=True),
    "rinse": Duty(0.03, 1.0, sprays=True),
    "blow-off": Duty(0.04, 2.0, sprays=True),
    "drain": Duty(0.02, 0.5),
    "oven": Duty(0.02, 0.5, heats=True, water_in_dome=(0.0, 0.0), water_why="dried"),
}
"""What a stage is for: high-pressure wash, low-pressure rinse, air, nothing, or heat. All that a
duty decides stands here; kicks are ordered by how rough a duty is."""

LAYOUTS = ("lengthwise", "crosswise")
"""Close-packed lines along the guides, or straight across."""

STATES = ("densest", "slack", "strained", "blocks")
"""How the pack fills a clear width that is not an exact fit. Every answer is for the looser pack,
see `packsim.width.lane_rule`; ``strained`` and ``blocks`` say what it might be besides."""


TIPPED = ("leans", "leaves a hole", "lies across")
"""What a tipped can does to the pack: it leans on what stops it, is gone, or lies in the way."""


@dataclass(frozen=True, slots=True)
class Kicks:
    """How a stage shakes each can; measured nowhere until a trial calibrates it.

    Parameters
    ----------
    energy_mJ : float
        Mean energy a kick gives a can for tipping [mJ].
    rate_per_s : float
        Kicks a can gets each second [1/s].
    step_mm : float
        Root-mean-square sideways step of a can per kick, along each axis [mm].
    drift_mm_per_s : float
        Steady sideways drift, positive to the right [mm/s].
    trial : str
        Trial that the energy comes from; empty while it is assumed.
    under_headers : float or None
        Share of its kicks that a can gets while under a header, 0..1; None where kicks come evenly
        in time [-].
    """

    energy_mJ: float
    rate_per_s: float
    step_mm: float = 0.2
    drift_mm_per_s: float = 0.0
    trial: str = ""
    under_headers: float | None = None

    def __post_init__(self) -> None:
        if self.under_headers is not None:
            between("under_headers", self.under_headers, 0.0, 1.0)
        non_negative("energy_mJ", self.energy_mJ)
        non_negative("rate_per_s", self.rate_per_s)
        non_negative("step_mm", self.step_mm)
        finite("drift_mm_per_s", self.drift_mm_per_s)


@dataclass(frozen=True, slots=True)
class Stage:
    """One stage.

    Parameters
    ----------
    name : str
        Name as painted on the machine.
    duty : {"flood", "rinse", "blow-off", "drain", "oven"}
        What it is for; also the group a trial calibrates it with.
    length_mm : float
        Length along travel [mm].
    guides : Guides
        Its side guides as they are set now.
    kicks : Kicks
        How it shakes the pack.
    temperature_C : float
        Temperature of cans and frame in it [°C].
    layout : {"lengthwise", "crosswise"}
        How the close-packed lines run.
    state : {"densest", "slack", "strained", "blocks"}
        What the pack might be in an inexact width; judged by the looser one whatever is asked.
    fill : float
        Share of the perfect pack's cans per metre that the infeed delivers, above 0 up to 1 [-].
    water_in_dome : tuple of float
        How full the dome recesses may be, from and to, 0..1 [-]; twice the same where it is known.
    headers : tuple of Header
        Its spray headers; none for an oven or a drain.
    hold_down_mm : float or None
        Height of a hold-down mat's underside above the mat [mm], None where there is none.
    pack_pressure_N_per_m : float
        Sideways push of the pack on each guide [N/m].
    settings : tuple of KnownSetting
        Settings on record, at most one for each size.
    tipped : {"leans", "leaves a hole", "lies across"}
        What a tipped can does to the pack.
    joint_kick_mJ : float
        Mean energy of the one kick a can gets as it enters, 0 for none [mJ].
    slack_gathered : float or None
        Share of the rows that have all their slack in one gap, the others sharing it out at random,
        as a picture shows it; None where nobody looked [-].
    """

    name: str
    duty: str
    length_mm: float
    guides: Guides
    kicks: Kicks
    temperature_C: float = 20.0
    layout: str = "lengthwise"
    state: str = "densest"
    fill: float = 1.0
    water_in_dome: tuple[float, float] = (0.0, 0.0)
    headers: tuple[Header, ...] = ()
    hold_down_mm: float | None = None
    pack_pressure_N_per_m: float = 0.0
    settings: tuple[KnownSetting, ...] = ()
    tipped: str = "leans"
    joint_kick_mJ: float = 0.0
    slack_gathered: float | None = None

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise InputError("name", repr(self.name), "a name")
        one_of("duty", self.duty, tuple(DUTIES))
        positive("length_mm", self.length_mm)
        between("temperature_C", self.temperature_C, -50.0, 600.0, "°C")
        one_of("layout", self.layout, LAYOUTS)
        one_of("state", self.state, STATES)
        one_of("tipped", self.tipped, TIPPED)
        non_negative("joint_kick_mJ", self.joint_kick_mJ)
        between("fill", self.fill, 0.05, 1.0)
        if self.slack_gathered is not None:
            between("slack_gathered", self.slack_gathered, 0.0, 1.0)
        low, high = self.water_in_dome
        between("water_in_dome", low, 0.0, 1.0)
        between("water_in_dome", high, low, 1.0)
        non_negative("pack_pressure_N_per_m", self.pack_pressure_N_per_m)
        if self.hold_down_mm is not None:
            positive("hold_down_mm", self.hold_down_mm)
        self._check_stations()

    def _check_stations(self) -> None:
        for i, bracket in enumerate(self.guides.brackets):
            between(f"brackets[{i}].station_mm", bracket.station_mm, 0.0, self.length_mm, "mm")
        for i, header in enumerate(self.headers):
            between(f"headers[{i}].station_mm", header.station_mm, 0.0, self.length_mm, "mm")
        stations = [bracket.station_mm for bracket in self.guides.brackets]
        for i, setting in enumerate(self.settings):
            known = [bracket.station_mm for bracket in setting.brackets]
            if known != stations:
                raise InputError(f"settings[{i}].brackets", known, f"the stations {stations}")
            if any(other.size == setting.size for other in self.settings[:i]):
                raise InputError(f"settings[{i}].size", repr(setting.size), "each size once")

    def setting_for(self, size: str) -> KnownSetting | None:
        """Return the setting on record for a size, or None."""
        return next((setting for setting in self.settings if setting.size == size), None)

    def with_clear_width(self, clear_width_mm: float, centre_mm: float | None = None) -> Stage:
        """Return this stage with every bracket set to one clear width [mm]."""
        return replace(self, guides=self.guides.set_to(clear_width_mm, centre_mm))
