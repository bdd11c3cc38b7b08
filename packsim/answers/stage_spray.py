"""What the sprays of a stage leave of the hold of a pack: the load on each lane, and the worst."""

from __future__ import annotations

from packsim.can import Stance
from packsim.line import Header, Scenario, Stage
from packsim.nozzles.lane_lines import lane_lines_mm
from packsim.pack.state import Pack
from packsim.spray.spray_load import SprayLoad, spray_load


def clear_headers(stage: Stage, height_mm: float) -> tuple[Header, ...]:
    """Headers a can of this height passes; one above that hangs into the cans sprays nothing."""
    return tuple(h for h in stage.headers if h.side == "below" or h.mat_distance_mm > height_mm)


def stage_spray(scenario: Scenario, stage: Stage, pack: Pack, stance: Stance) -> SprayLoad | None:
    """Return the load of a stage's sprays on each lane of a pack; None where nothing is sprayed.

    Parameters
    ----------
    scenario : Scenario
        The case, for its mat.
    stage : Stage
        The stage, for its headers and the middle of its pass.
    pack : Pack
        The pack, laid about that middle.
    stance : Stance
        The can in this stage.

    Returns
    -------
    SprayLoad or None
        At the worst moment of each lane.
    """
    clear = clear_headers(stage, stance.height_mm)
    if not clear or not pack.fits:
        return None
    lines = lane_lines_mm(pack, stage.guides.centre_mm - pack.clear_width_mm / 2.0)
    return spray_load(lines, stance, clear, scenario.mat.open_fraction)


def stage_balance_rad(spray: SprayLoad | None, stance: Stance) -> float:
    """Effective balance angle of the worst lane [rad]; a lifted can has none left."""
    if spray is None:
        return stance.balance_angle_rad
    if bool(spray.lifted.any()):
        return 0.0
    return max(0.0, float(spray.balance_rad.min()))
