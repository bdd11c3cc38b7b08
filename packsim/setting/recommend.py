"""The one recommended setting of a line for a size: lanes, guides, wires, hold-down, speed.

Whatever says what to set a line to takes it from here.
"""

from dataclasses import replace
from functools import lru_cache
from typing import Final

from packsim.errors import one_of, positive, whole
from packsim.flow import KEEP, CansFlow
from packsim.line import Scenario
from packsim.setting.choose import carried_per_m, choose, set_run
from packsim.setting.heights import wires_for
from packsim.setting.line_setting import LineSetting
from packsim.setting.place import Job
from packsim.width.lane_rule import lanes_width_mm

MOST_LANES: Final = 999
"""More lanes than any mat carries."""


def recommend(
    scenario: Scenario,
    size: str | None = None,
    *,
    lanes: int | None = None,
    keep: str = "rate",
    step_mm: float | None = None,
    from_size: str | None = None,
) -> LineSetting:
    """Recommend the setting of a line for a size.

    Parameters
    ----------
    scenario : Scenario
        The line as found.
    size : str, optional
        The size; the one the guides are set for by default.
    lanes : int, optional
        Lanes wanted in every stage; chosen when omitted.
    keep : {"rate", "dwell"}
        Keep the cans per minute, or the mat speed and every dwell.
    step_mm : float, optional
        Step settings are whole multiples of; the scenario's rule, or else each
        stage's own setting step, when omitted [mm].
    from_size : str, optional
        Size that runs now, whose wires and hold-downs count too; the one set for by default.

    Returns
    -------
    LineSetting
        Of the lane counts next to the present widths the best, see `packsim.setting.choose`;
        worked out once for a line.

    Raises
    ------
    InputError
        If a size is unknown, ``keep`` is neither word, or a number is out of range.

    Notes
    -----
    A line that stands safe as it is stays; a setting on record for the size is taken, and judged.
    Else stages in line get one lane count and one shift, which suits their worst lane best, and
    their brackets stand in the middle of the window on whole steps from the mat edges, or on its
    own middle with a gauge where no step lies inside. Where no width is safe it is the lowest
    that cannot jam: a pack with slack runs and can be watched, a jam cannot.
    """
    one_of("keep", keep, KEEP)
    step_mm = scenario.rule_step_mm if step_mm is None else step_mm
    if step_mm is not None:
        positive("step_mm", step_mm)
    if lanes is not None:
        whole("lanes", lanes, 1, MOST_LANES, f"a whole number from 1 to {MOST_LANES}")
    to = scenario.size(size).name
    old = scenario.size(from_size, "from").name
    return _recommend(scenario, to, lanes, keep, step_mm, old)


@lru_cache(maxsize=64)
def _recommend(
    scenario: Scenario,
    size: str,
    lanes: int | None,
    keep: str,
    step_mm: float | None,
    from_size: str,
) -> LineSetting:
    own = Job(
        scenario=scenario,
        old=scenario.size(from_size),
        new=scenario.size(size),
        step_mm=None,
        keep=keep,
        wires=wires_for(scenario, from_size, size, None),
    )
    counts, reason = choose(own, lanes)
    wires = wires_for(scenario, from_size, size, step_mm)
    job = replace(own, step_mm=step_mm, wires=wires)
    stages = tuple(part for run, count in counts.items() for part in set_run(job, run, count))
    carried = min(carried_per_m(stage, job.old) for stage in scenario.stages)
    after = min(carried_per_m(part.stage, job.new) for part in stages)
    flow = CansFlow(carried, scenario.mat.speed_mm_per_s)
    # where either pack does not fit there is no rate to keep
    kept = keep if min(carried, after) > 0.0 else "dwell"
    later = flow.after_size_change(after, kept)
    return LineSetting(
        scenario=scenario,
        size=size,
        from_size=from_size,
        keep=keep,
        step_mm=step_mm,
        stages=stages,
        speed_mm_per_s=(flow.speed_mm_per_s, later.speed_mm_per_s),
        cans_per_min=(flow.cans_per_min, later.cans_per_min),
        reason=reason,
    )


def alternatives(setting: LineSetting) -> tuple[LineSetting, ...]:
    """Return the settings for one lane fewer and one more, where the mat is wide enough."""
    line, to, keep = setting.scenario, setting.size, setting.keep
    found = []
    for lanes in (setting.lanes - 1, setting.lanes + 1):
        diameter = line.size(to).diameter_mm
        needs = [lanes_width_mm(lanes, diameter, stage.layout) for stage in line.stages]
        if lanes >= 1 and max(needs) <= line.mat.width_mm:
            found.append(_recommend(line, to, lanes, keep, setting.step_mm, setting.from_size))
    return tuple(found)
