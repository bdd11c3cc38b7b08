"""The one recommended setting of a line for a size: lanes, guides, wires, hold-down, speed.

Whatever says what to set a line to takes it from here.
"""

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Final

from packsim.answers import stage_bands
from packsim.answers.stage_pack import KEEP, CansFlow
from packsim.can import Can
from packsim.errors import one_of, positive, whole
from packsim.line import Scenario, Stage
from packsim.pack.lattice import lanes_width_mm
from packsim.setting.choose import carried_per_m, choose, set_run
from packsim.setting.line_setting import LineSetting
from packsim.setting.moves import WireMove, WirePart, on_mark, step_of
from packsim.setting.place import Job
from packsim.width.wire_heights import MAX_WIRES, WireBand, wire_moves

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
        wires=_wires(scenario, from_size, size, None),
    )
    counts, reason = choose(own, lanes)
    wires = _wires(scenario, from_size, size, step_mm)
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


def _wires(
    scenario: Scenario, from_size: str, to_size: str, step_mm: float | None
) -> tuple[WirePart, ...]:
    """Plan the wires of every stage, for both sizes, so that they are moved once.

    Heights on record for the new size are taken as they are. Else stages whose wires hang alike are
    planned together, because a wire runs through them all: a band is what they have in common.
    """
    old, new = scenario.size(from_size), scenario.size(to_size)
    cans = (new,) if old is new else (old, new)
    groups: dict[tuple[float, ...], list[int]] = {}
    for i, stage in enumerate(scenario.stages):
        groups.setdefault(stage.guides.wires.heights_mm, []).append(i)
    parts: dict[int, WirePart] = {}
    for heights, members in groups.items():
        stages = [scenario.stages[i] for i in members]
        bands = [band for can in cans for band in _bands(stages, can)]
        planned = _planned(heights, bands, from_size, max(step_of(s, step_mm) for s in stages))
        for i in members:
            known = scenario.stages[i].setting_for(to_size) if old is not new else None
            on_record = None if known is None else known.wire_heights_mm
            parts[i] = planned
            if on_record is not None:  # in order; those beyond the present ones are added
                pairs = zip([*heights, *[None] * len(on_record)], on_record, strict=False)
                parts[i] = _part(list(pairs), bands, from_size, "heights on record for this size")
    return tuple(parts[i] for i in range(len(scenario.stages)))


def _bands(stages: Sequence[Stage], can: Can) -> list[WireBand]:
    """Bands of one size that all stages share, or each stage's own where they share none."""
    found = []
    pairs = [stage_bands(s, can) for s in stages]
    for own in zip(*pairs, strict=True):
        low, high = max(band.low_mm for band in own), min(band.high_mm for band in own)
        if low <= high or any(band.empty for band in own):
            found.append(WireBand(can.name, own[0].use, low, high))
        else:
            found += list(dict.fromkeys(own))
    return found


def _planned(
    heights: tuple[float, ...], bands: list[WireBand], from_size: str, step_mm: float
) -> WirePart:
    if len(heights) > MAX_WIRES:
        why = f"more than {MAX_WIRES} wires: left as they hang"
        return _part([(z, z) for z in heights], bands, from_size, why)

    def marked(z: float) -> float:
        serves = [band for band in bands if band.holds(z)]
        return on_mark(z, step_mm, lambda at: at > 0.0 and all(band.holds(at) for band in serves))

    moves, added = wire_moves(heights, bands)
    moved = dict(moves)
    pairs: list[tuple[float | None, float]] = [
        (z, marked(moved[z]) if moved.get(z, z) != z else z) for z in heights
    ]
    pairs += [(None, marked(z)) for z in added]
    if all(any(band.holds(z) for z in heights) for band in bands):
        why = "the wires as they hang do every duty of both sizes"
    else:
        why = "fewest moves that do every duty of both sizes"
    return _part(pairs, bands, from_size, why)


def _part(
    pairs: Sequence[tuple[float | None, float]], bands: list[WireBand], from_size: str, why: str
) -> WirePart:
    moves = [WireMove(a, b, not any(band.holds(b) for band in bands)) for a, b in pairs]
    open_bands = [band for band in bands if not any(band.holds(b) for _, b in pairs)]
    words = tuple(
        f"{band.use} wire of {band.size}" + (": no height is right for it" if band.empty else "")
        for band in open_bands
    )
    keeps = not any(band.size == from_size for band in open_bands)
    return WirePart(tuple(sorted(moves, key=lambda m: m.new_mm)), why, words, keeps)
