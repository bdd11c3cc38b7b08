"""How one size stands under the headers of one stage: its can lines, its room, the nozzles."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from packsim.answers import clear_headers, stage_pack
from packsim.arrays import Floats
from packsim.can import Can, Stance
from packsim.errors import Assumption, InputError
from packsim.line import SIDES, Header, Scenario, Stage
from packsim.line.guides import Reach
from packsim.nozzles.lane_lines import lane_lines_mm, lane_shares, nozzle_places_mm
from packsim.pack.state import Pack
from packsim.setting import recommend

_NO_MATTER: Final = (
    *("kicks", "guides", "wire", "tension", "factor", "side_load"),
    *("mat.friction", "mat.mass", "specific_heat", "temperature", "expansion"),
)
_FORCE_ONLY: Final = ("cg_height", "water_in_dome", ".mass")
"""Words in the keys of assumptions that nozzles, or doses, do not rest on."""


@dataclass(frozen=True, slots=True, eq=False)
class Arrangement:
    """One size between the guides of one stage, with that stage's headers.

    Parameters
    ----------
    stage : Stage
        The stage.
    index : int
        Its number in the scenario.
    can : Can
        The size.
    stance : Stance
        The can as it stands there with the least dome water, which the sprays press over most.
    pack : Pack
        The pack at the narrowest bracket; may hold nothing.
    left_mm : float
        Left guide face there, from the mat's left edge [mm].
    lines_mm, shares, cans_per_mm : ndarray, shape (lanes,)
        Lines of can centres from the mat's left edge, rising [mm], the share of the cans on each
        [-] and the cans on each per length of mat [1/mm].
    room_mm : tuple of float
        How far the pass may move to the left and to the right [mm].
    """

    stage: Stage
    index: int
    can: Can
    stance: Stance
    pack: Pack
    left_mm: float
    lines_mm: Floats
    shares: Floats
    cans_per_mm: Floats
    room_mm: tuple[float, float]

    @property
    def sides(self) -> tuple[str, ...]:
        """Sides of the mat that have a header."""
        return tuple(s for s in SIDES if any(h.side == s for h in self.stage.headers))

    @property
    def clear(self) -> tuple[Header, ...]:
        """Headers the can passes; one above that hangs into the cans sprays nothing."""
        return clear_headers(self.stage, self.stance.height_mm)

    @property
    def blocked(self) -> tuple[Header, ...]:
        """Headers above that hang into the cans."""
        return tuple(h for h in self.stage.headers if h not in self.clear)

    @property
    def headers_in_the_cans(self) -> int:
        """How many there are."""
        return len(self.blocked)

    def headers(self, side: str) -> tuple[Header, ...]:
        """Return the headers of one side."""
        return tuple(h for h in self.stage.headers if h.side == side)

    def nozzles_mm(self, side: str) -> Floats:
        """Return the nozzle places of one side, of all its headers together [mm]."""
        return nozzle_places_mm(self.stage.headers, side)


def arrange(
    scenario: Scenario, index: int, size: str, clear_width_mm: float | None = None
) -> Arrangement:
    """Lay one size between the guides of one stage.

    Parameters
    ----------
    scenario : Scenario
        The case.
    index : int
        Which of its stages.
    size : str
        Name of the size.
    clear_width_mm : float, optional
        Another clear width about the same middle; the guides' narrowest when omitted [mm].

    Returns
    -------
    Arrangement
        As the guides are set, the pack in the middle of its slack.

    Raises
    ------
    InputError
        If the size is unknown.
    """
    stage, can = scenario.stages[index], scenario.size(size)
    width = stage.guides.narrowest_mm if clear_width_mm is None else clear_width_mm
    pack = stage_pack(stage, can, width)
    left = stage.guides.centre_mm - width / 2.0
    reach = Reach.of(stage.guides, scenario.mat.width_mm)
    return Arrangement(
        stage=stage,
        index=index,
        can=can,
        stance=can.stance(stage.water_in_dome[0]),
        pack=pack,
        left_mm=left,
        lines_mm=lane_lines_mm(pack, left),
        shares=lane_shares(pack),
        cans_per_mm=lane_cans_per_mm(pack),
        room_mm=reach.room_mm(width, stage.guides.centre_mm),
    )


def wander_mm(at: Arrangement) -> float:
    """How far a pack may ride off its place: half its slack and half a setting step [mm]."""
    return (max(at.pack.slack_mm, 0.0) + at.stage.guides.setting_step_mm) / 2.0


def arrange_all(
    scenario: Scenario, stages: Sequence[str] = (), sizes: Sequence[str] = ()
) -> tuple[Arrangement, ...]:
    """Lay every chosen size in every chosen stage that has a header, stages of a size in a row.

    Parameters
    ----------
    scenario : Scenario
        The case.
    stages, sizes : sequence of str
        Names; all when empty.

    Returns
    -------
    tuple of Arrangement
        At least one.

    Raises
    ------
    InputError
        If a name is unknown, or no chosen stage has a header.
    """
    found = sprayed_stages(scenario, stages)
    if not found:
        raise InputError("headers", "no header in these stages", "a stage with a header")
    return tuple(
        arrange(scenario, i, can.name) for can in chosen_sizes(scenario, sizes) for i in found
    )


def sprayed_stages(scenario: Scenario, stages: Sequence[str] = ()) -> tuple[int, ...]:
    """Numbers of the chosen stages that have a header, in order along the line."""
    names = {scenario.stage(name).name for name in stages}
    return tuple(
        i
        for i, stage in enumerate(scenario.stages)
        if stage.headers and (not names or stage.name in names)
    )


def chosen_sizes(scenario: Scenario, sizes: Sequence[str] = ()) -> tuple[Can, ...]:
    """Return the chosen sizes in the scenario's order, all when none is named."""
    names = {scenario.size(name).name for name in sizes}
    return tuple(can for can in scenario.sizes if not names or can.name in names)


def refit_for(scenario: Scenario, size: str | None) -> tuple[Scenario, str]:
    """Return the line set as recommended for a size, and what to say; as it is for None."""
    if size is None:
        return scenario, ""
    setting = recommend(scenario, scenario.size(size, "refit").name)
    note = f"guides as recommended for {setting.size}: {setting.reason}"
    if not setting.safe:
        stages = ", ".join(part.stage.name for part in setting.unsafe)
        note += f"; no safe setting in {stages}, set there as close as the pack allows"
    return setting.line, note


def rests_on(scenario: Scenario, at: Arrangement, *, load: bool = False) -> tuple[Assumption, ...]:
    """Return what is assumed of line and size and bears on nozzles.

    Parameters
    ----------
    scenario : Scenario
        The case.
    at : Arrangement
        The stage and size.
    load : bool
        Whether it matters what the sprays move, and with it weight.

    Returns
    -------
    tuple of Assumption
        Without what wires, wear, kicks and ovens rest on.
    """
    apart = _NO_MATTER if load else _NO_MATTER + _FORCE_ONLY
    kept = scenario.assumed_in(at.stage, at.can)
    return tuple(a for a in kept if not any(word in a.key for word in apart))


def lane_cans_per_mm(pack: Pack) -> Floats:
    """Cans on each of a pack's lines per millimetre of mat.

    Parameters
    ----------
    pack : Pack
        The pack between its guides.

    Returns
    -------
    ndarray, shape (lanes,)
        In the order of `lane_lines_mm` [1/mm]; empty when nothing fits.
    """
    return lane_shares(pack) * (len(pack) / pack.length_mm)
