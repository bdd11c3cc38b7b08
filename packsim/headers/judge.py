"""What a drilling of headers does to every can size: dose, evenness, distance, tip margin."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from packsim.arrays import Floats
from packsim.headers.arrangement import wander_mm
from packsim.headers.bank import Bank, hold_margins
from packsim.headers.demand import Demand, caught_by_distance, score
from packsim.headers.proposal import Proposal, SizeDose
from packsim.headers.wish import DesignWish
from packsim.line import Header
from packsim.nozzles.lane_lines import equal_pitch_mm, misalignment
from packsim.nozzles.shift import Facing, joint_shift
from packsim.spray.dose import PLACE_OF, lane_doses_mL
from packsim.spray.jets import flow_L_per_min, footprint_of, passes
from packsim.spray.pipe import smallest_pipe
from packsim.spray.uniformity import christiansen


def demands_of(
    group: Sequence[Bank], lead: Bank, header: Header, wish: DesignWish
) -> tuple[Demand, ...]:
    """Return what each size takes of the nozzles of a header: in all stages of a group at once.

    Each lane wanders over where it does in any of them; doses are those of the leading one.
    """
    return tuple(_demand(group, lead, k, header, wish) for k in range(len(lead.packs)))


def _demand(group: Sequence[Bank], lead: Bank, k: int, header: Header, wish: DesignWish) -> Demand:
    at = lead.packs[k]
    own = [wander_mm(b.packs[k]) if wish.wander_mm is None else wish.wander_mm for b in group]
    low = np.min([b.packs[k].lines_mm - w for b, w in zip(group, own, strict=True)], axis=0)
    high = np.max([b.packs[k].lines_mm + w for b, w in zip(group, own, strict=True)], axis=0)
    radius = at.can.diameter_mm / 2.0
    table = np.zeros(1)  # of a header the can strikes
    if passes(header, at.can.height_mm):
        patch = footprint_of(header, at.can.height_mm)
        table = caught_by_distance(patch, radius, wish.tolerance_mm)
    return Demand(
        size=at.can.name,
        place=PLACE_OF[header.side],
        lines_mm=(low + high) / 2.0,
        wander_mm=float(np.max(high - low)) / 2.0,
        table_mm=table,
        even_mm=math.pi * radius**2 / (float(np.ptp(at.lines_mm)) + 2.0 * radius),
        mL_per_mm=lead.mL_per_mm(k, header),
        weight=(wish.weights or {}).get(at.can.name, 1.0),
    )


@dataclass(frozen=True, slots=True, eq=False)
class Judge:
    """What every proposal of one design is judged by.

    Parameters
    ----------
    group : sequence of Bank
        All headers it serves.
    lead : Bank
        Those that take most: flows and doses are theirs.
    today, demands : tuple of Demand
        What the cans take of today's nozzles and of the new ones.
    wish : DesignWish
        What is asked.
    hold_today : list of float
        Least hold margin of each size today [-].
    """

    group: Sequence[Bank]
    lead: Bank
    today: tuple[Demand, ...]
    demands: tuple[Demand, ...]
    wish: DesignWish
    hold_today: Sequence[float]

    def proposal(self, what: str, nozzles_mm: Sequence[Floats]) -> Proposal:
        """Return what nozzles at places do, a row for each header of the leading stage."""
        now = what == "today"
        headers = self.lead.today if now else self.lead.drilled(nozzles_mm)
        demands = self.today if now else self.demands
        holds = self.hold_today if now else hold_margins(self.group, nozzles_mm)
        counts = [len(row) for row in nozzles_mm]
        steps = np.concatenate([np.diff(row) for row in nozzles_mm])
        equal = equal_pitch_mm(*nozzles_mm)
        cost = self.wish.nozzle_cost
        gap = float(np.mean(steps)) if len(steps) else headers[0].pitch_mm
        pipe = replace(headers[0], pitch_mm=gap, count=max(counts))
        return Proposal(
            what=what,
            pitch_mm=math.nan if equal is None else equal,
            count=max(counts),
            nozzles_mm=tuple(np.round(row, 6) for row in nozzles_mm),
            flow_L_per_min=sum(flow_L_per_min(h) for h in headers),
            smallest_pipe=smallest_pipe(pipe),
            even_share=score(demands, np.concatenate(nozzles_mm), 41),
            doses=tuple(
                self._dose(k, demand, headers, nozzles_mm, holds[k])
                for k, demand in enumerate(demands)
            ),
            cost=None if cost is None else cost * sum(counts),
        )

    def _dose(
        self,
        k: int,
        demand: Demand,
        headers: Sequence[Header],
        nozzles_mm: Sequence[Floats],
        hold: float,
    ) -> SizeDose:
        at, mat = self.lead.packs[k], self.lead.lines[k].mat
        clear = [h for h in headers if passes(h, at.can.height_mm)]
        nothing = np.zeros(len(at.lines_mm))
        lanes = lane_doses_mL(at.lines_mm, at.stance, clear, mat).get(demand.place, nothing)
        mean = float(lanes @ at.shares)
        least = demand.least_mL(np.concatenate(nozzles_mm))
        places = np.unique(np.concatenate(nozzles_mm))
        room = float(np.max(np.diff(places), initial=0.0))
        shifted = joint_shift([Facing(at.lines_mm, places, at.shares)], (room, room))
        return SizeDose(
            size=at.can.name,
            place=demand.place,
            worst_mL=least,
            mean_mL=mean,
            least_share=least / mean if mean > 0.0 else math.nan,
            uniformity=christiansen(lanes, at.shares),
            nozzle_offset_mm=misalignment(at.lines_mm, places).worst_mm,
            nozzle_offset_shifted_mm=shifted.worst_mm,
            hold_margin=hold,
            hold_margin_change=hold - self.hold_today[k],
        )
