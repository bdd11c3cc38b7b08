"""Where a line cannot hold the cans that its infeed brings."""

from collections.abc import Sequence
from dataclasses import dataclass

from packsim.answers.stage_pack import stage_packs
from packsim.can import Can
from packsim.errors import InputError
from packsim.line import Scenario, Stage
from packsim.width.lane_rule import lanes_per_metre


@dataclass(frozen=True, slots=True)
class Misfit:
    """A stage that does not hold what the infeed brings.

    Parameters
    ----------
    stage : str
        Its name.
    clear_width_mm, diameter_mm : float
        Its narrowest clear width, and the can's diameter [mm].
    lanes, brought_lanes : int
        Lanes that fit there, and lanes the infeed brings; 0 where not one can fits.
    """

    stage: str
    clear_width_mm: float
    diameter_mm: float
    lanes: int
    brought_lanes: int

    @property
    def why(self) -> str:
        """What is too narrow, lengths in mm."""
        if not self.lanes:
            need = f"one can needs {self.diameter_mm:.1f} mm"
            return f"no can fits in {self.clear_width_mm:.1f} mm, {need}"
        return (
            f"{self.lanes} lanes fit in {self.clear_width_mm:.1f} mm, the infeed brings "
            f"{self.brought_lanes}"
        )


def misfit(scenario: Scenario, stage: Stage, can: Can) -> Misfit | None:
    """Return why a stage cannot hold the cans of the first one; None where it can.

    The mat carries the same cans per metre through every stage, so a stage holds the line's cans
    where its most lanes, full or squeezed, have as many cans per metre as the infeed brings.
    """
    first, here = stage_packs(scenario.stages[0], can), stage_packs(stage, can)
    brought, most = first.judged.carried_per_metre, 0.0
    if here.fits:
        most = lanes_per_metre(here.fit_lanes, can.diameter_mm, stage.layout)
    if here.might_be is not None and here.might_be.state == "squeezed":
        most = max(most, here.might_be.cans_per_metre)
    if here.fits and most * (1.0 + 1e-9) >= brought:
        return None
    return Misfit(
        stage=stage.name,
        clear_width_mm=stage.guides.narrowest_mm,
        diameter_mm=can.diameter_mm,
        lanes=here.fit_lanes,
        brought_lanes=first.judged.lanes,
    )


def misfits(scenario: Scenario, size: str) -> tuple[Misfit, ...]:
    """Return every stage of a line that cannot hold what its infeed brings of a size.

    Parameters
    ----------
    scenario : Scenario
        The line.
    size : str
        Name of the can size.

    Raises
    ------
    InputError
        If the size is unknown.
    """
    can = scenario.size(size)
    found = (misfit(scenario, stage, can) for stage in scenario.stages)
    return tuple(one for one in found if one is not None)


def check_fits(scenario: Scenario, size: str, key: str) -> None:
    """Raise `InputError` if a size does not go through a line as it is set."""
    found = misfits(scenario, size)
    if found:
        raise InputError(key, told(found), f"widths at which {size!r} fits in every stage")


def told(found: Sequence[Misfit]) -> str:
    """Return misfits in words, stages alike together."""
    stages: dict[str, list[str]] = {}
    for one in found:
        stages.setdefault(one.why, []).append(one.stage)
    return "; ".join(f"{', '.join(names)}: {why}" for why, names in stages.items())
