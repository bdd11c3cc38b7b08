"""The headers proposed for a stage, and what each does."""

import math
from dataclasses import dataclass

import numpy as np

from packsim.arrays import Floats
from packsim.errors import Assumption
from packsim.headers.arrangement import Arrangement
from packsim.line import Header
from packsim.spray.pipe import PipeRun


@dataclass(frozen=True, slots=True)
class SizeDose:
    """What one can size gets of a header, at the recommended setting.

    Parameters
    ----------
    size, place : str
        Can size, and ``inside`` or ``top``.
    worst_mL, mean_mL : float
        Dose of the worst lane, the pack anywhere within its wander and every hole within its
        tolerance; and of the mean can, the pack in its place and the holes too [mL per can].
    least_share : float
        The one over the other [-].
    uniformity : float
        Christiansen's uniformity over the lanes, pack and holes in their places [-].
    nozzle_offset_mm, nozzle_offset_shifted_mm : float
        Distance of the worst lane from its nearest nozzle, and after the shift of the pack that
        makes it least [mm].
    hold_margin, hold_margin_change : float
        Least hold margin of any can in any of the stages, the other headers as today; and by how
        much it is more than today [-].
    """

    size: str
    place: str
    worst_mL: float
    mean_mL: float
    least_share: float
    uniformity: float
    nozzle_offset_mm: float
    nozzle_offset_shifted_mm: float
    hold_margin: float
    hold_margin_change: float


@dataclass(frozen=True, slots=True, eq=False)
class Proposal:
    """One way to drill the headers of one side.

    Parameters
    ----------
    what : str
        ``best``; ``uneven``, its nozzles moved one by one; ``in line``, all headers alike;
        ``fewer`` nozzles; ``today``; ``lanes``, the least distance of lanes from nozzles.
    pitch_mm : float
        Nozzle pitch; nan where the spacing is unequal [mm].
    count : int
        Nozzles of a header.
    nozzles_mm : tuple of ndarray
        Places from the mat's left edge, a row for each header of the leading stage [mm].
    flow_L_per_min : float
        Flow of those headers together [L/min].
    smallest_pipe : PipeRun or None
        The smallest standard pipe that serves the longest of them, unequal spacing taken as equal;
        None where none does.
    even_share : float
        The worst lane's dose over what it would get of the same flow spread evenly over the width
        of the pack, sizes by their weight: what is made greatest [-].
    doses : tuple of SizeDose
        By size.
    cost : float or None
        Cost of the nozzles, where theirs was given.
    """

    what: str
    pitch_mm: float
    count: int
    nozzles_mm: tuple[Floats, ...]
    flow_L_per_min: float
    smallest_pipe: PipeRun | None
    even_share: float
    doses: tuple[SizeDose, ...]
    cost: float | None

    @property
    def in_line(self) -> bool:
        """Whether all headers are drilled alike."""
        first = self.nozzles_mm[0]
        same = (len(row) == len(first) and np.allclose(row, first) for row in self.nozzles_mm)
        return all(same)

    @property
    def hold_margin(self) -> float:
        """Least hold margin of any size [-]."""
        return min(one.hold_margin for one in self.doses)

    @property
    def least_share(self) -> float:
        """Least of the sizes' worst lanes over their means [-]."""
        return min((one.least_share for one in self.doses), default=math.nan)


@dataclass(frozen=True, slots=True, eq=False)
class HeaderDesign:
    """A new drilling for headers that have the same nozzles over the same lanes.

    Parameters
    ----------
    stages : tuple of str
        Stages it serves.
    side : {"above", "below"}
        Side of the mat.
    place : {"inside", "top"}
        Where its spray is counted.
    lead : str
        The stage that takes most: flows and doses are those of this stage.
    sizes : tuple of str
        Sizes served.
    lanes : tuple of int
        Lanes of each.
    packs : tuple of Arrangement
        Each size in the leading stage, as recommended.
    wander_mm : tuple of float
        How far each rides off its place, either way [mm].
    tolerance_mm : float
        Plus/minus of a hole's place [mm].
    header : Header
        One of the new headers but for its places: nozzle, pressure, stand-off.
    proposals : tuple of Proposal
        The best first; today's where no other gives enough.
    bound : float
        `Proposal.even_share` that no nozzles of this kind can pass, wherever they stand and
        however many there are [-].
    curve : ndarray, shape (p, 2)
        Best share found at each pitch looked at, before it was refined; nan where no count gives
        enough [mm], [-].
    today, anew : tuple of tuple of Header
        The headers replaced and those recommended, by stage.
    assumed : tuple of Assumption
        Everything here rests on these.
    hold_together : tuple of float
        Least hold margin of each size in any of the stages, all their headers drilled as
        recommended, those of the other side too [-].
    """

    stages: tuple[str, ...]
    side: str
    place: str
    lead: str
    sizes: tuple[str, ...]
    lanes: tuple[int, ...]
    packs: tuple[Arrangement, ...]
    wander_mm: tuple[float, ...]
    tolerance_mm: float
    header: Header
    proposals: tuple[Proposal, ...]
    bound: float
    curve: Floats
    today: tuple[tuple[Header, ...], ...]
    anew: tuple[tuple[Header, ...], ...]
    assumed: tuple[Assumption, ...]
    hold_together: tuple[float, ...] = ()

    @property
    def best(self) -> Proposal:
        """The one recommended."""
        return self.proposals[0]

    def proposal(self, what: str) -> Proposal | None:
        """Return one of the proposals, None where it is not among them."""
        return next((one for one in self.proposals if one.what == what), None)
