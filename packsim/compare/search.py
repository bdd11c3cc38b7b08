"""Which settings, or which smallest change to the machine, keep tips at or below a target."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from packsim.arrays import Floats
from packsim.can import Can
from packsim.chance import LineChance, chance_of
from packsim.compare.common_draws import common_values
from packsim.compare.compare import CASES, Progress
from packsim.compare.differing import differing
from packsim.compare.machine_changes import CHANGES, EFFORTS, MachineChange, closest, with_stage
from packsim.compare.target import Target, Way
from packsim.compare.tips import line_draws
from packsim.doubt.confidence import share_interval
from packsim.errors import between
from packsim.line import Scenario, Stage
from packsim.setting import recommend

SURE: Final = 0.9
"""Share of what is possible in which a target has to be kept, where nobody says which [-]."""

CLOSED: Final = " *"
"""Stands behind a change that is made with the guides as close as they go without a jam."""

_HALVINGS: Final = 4  # between as set and as close as they go: to a sixteenth of the way


def reach(
    line: Scenario,
    size: str,
    at_most: float,
    sure: float = SURE,
    *,
    progress: Progress | None = None,
) -> Target:
    """Search what keeps the tips of a line at or below a target.

    Parameters
    ----------
    line : Scenario
        The line as set.
    size : str
        The can size.
    at_most : float
        Tips per million of the whole line, above 0.
    sure : float
        Share of what is possible in which it has to be so, 0.5 to 0.999 [-].
    progress : callable, optional
        Told of every passage.

    Returns
    -------
    Target
        Tried in this order: the line as set; the recommended setting; the guides as close as they
        go without a jam, then in fewer stages, those that tip most or those the cans meet first,
        and by as few steps as reach it; then each change of
        `packsim.compare.machine_changes.CHANGES` by itself, with the guides as close as they go,
        in the stages that matter, those of least effort first, and no more effort once one
        reaches it.

    Raises
    ------
    InputError
        If the size is unknown, or a number is out of range.

    Notes
    -----
    That closer guides tip fewer cans, there and in stages behind, is what the search for few stages
    and steps rests on; what it ends at has a chance of its own. The share carries what
    `packsim.compare.tips.tip_draws` does; of a way that what is not known of the kicks alone
    rules out, no more is looked at.
    """
    between("at_most", at_most, 1e-6, 1e6, "per million")
    between("sure", sure, 0.5, 0.999)
    (values,) = common_values((line,), line.seed, CASES)
    search = _Search(
        line, line.size(size), at_most=at_most, sure=sure, values=values, progress=progress
    )
    tried = [search.way("as set", "none", ())]
    if not tried[0].reaches:
        setting = recommend(line, size)
        effort = "move" if _other_heights(line, setting.line) else "turn"
        there = [s for s, now in zip(setting.line.stages, line.stages, strict=True) if s != now]
        tried.append(search.way("the recommended setting", effort, there, setting.line))
        tried += search.closer(tried[0])
    if not any(way.reaches for way in tried):
        tried += search.changed(tried[-1])
    return Target(
        size=search.can.name,
        at_most=at_most,
        sure=sure,
        seed=line.seed,
        draws=CASES,
        tried=tuple(tried),
    )


def _other_heights(line: Scenario, other: Scenario) -> bool:
    pairs = zip(line.stages, other.stages, strict=True)
    return any(
        (a.guides.wires, a.hold_down_mm) != (b.guides.wires, b.hold_down_mm) for a, b in pairs
    )


@dataclass(frozen=True, slots=True)
class _Search:
    """The line as set and what is asked of it; fields as the parameters of `reach`.

    ``values`` are those of its inputs in every draw.
    """

    line: Scenario
    can: Can
    at_most: float
    sure: float
    values: Mapping[str, Floats]
    progress: Progress | None

    def way(
        self, what: str, effort: str, stages: Sequence[Stage], line: Scenario | None = None
    ) -> Way:
        """Return what some stages do, put into the line, or of the line given."""
        if line is None:
            line = self.line
            for stage in stages:
                line = with_stage(line, stage)
        chance = chance_of(line, self.can.name, progress=self.progress)
        tips = self.draws(line, chance, slack=False).sum(axis=1)
        if (tips <= self.at_most).mean() >= self.sure:  # else no more doubt would make it surer
            tips = self.draws(line, chance).sum(axis=1)
        kept = int((tips <= self.at_most).sum())
        then = float(np.quantile(tips, self.sure, method="inverted_cdf"))
        return Way(
            what=what,
            effort=effort,
            stages=tuple(stage.name for stage in stages),
            line=line,
            chance=chance,
            share=kept / CASES,
            share_interval=share_interval(kept, CASES),
            tips_when_sure=then,
            reaches=kept >= self.sure * CASES,
            machine=differing((self.line, line), [s.name for s in line.stages], [self.can.name]),
        )

    def draws(self, line: Scenario, chance: LineChance, *, slack: bool = True) -> Floats:
        """Tips per million by draw and stage; no number of tips is kept where nothing fits."""
        if chance.reason:
            return np.full((CASES, len(line.stages)), np.inf)
        return line_draws(line, chance, self.values, self.line.seed, CASES, slack=slack)

    def by_tips(self, way: Way) -> dict[str, float]:
        """Return the stages and the tips per million of each that are not passed, most first."""
        tips = self.draws(way.line, way.chance, slack=False)
        then = np.quantile(tips, self.sure, axis=0, method="inverted_cdf").tolist()
        pairs = zip((stage.name for stage in way.line.stages), then, strict=True)
        return dict(sorted(pairs, key=lambda pair: -pair[1]))

    def closer(self, as_set: Way) -> list[Way]:
        """Close the guides: all of them, then as few and as little as it takes."""
        pairs = ((stage, closest(self.line, stage, self.can)) for stage in self.line.stages)
        closed = {now.name: new for now, new in pairs if new is not now}
        if not closed:
            return []
        full = self.way("guides as close as they go", "turn", list(closed.values()))
        if not full.reaches:
            return [full]
        most = [name for name in self.by_tips(as_set) if name in closed]
        orders = dict.fromkeys(tuple(order) for order in (most, closed))
        found = [self._fewest(full, [closed[name] for name in order]) for order in orders]
        fewest = min(found, key=lambda way: len(way.stages))
        little = self._little([closed[name] for name in fewest.stages])
        return [full, *([] if fewest is full else [fewest]), *little]

    def _fewest(self, full: Way, closed: Sequence[Stage]) -> Way:
        """Close the first few of some stages: as many as it takes."""
        found, low = full, 1
        while low < len(found.stages):
            count = (low + len(found.stages)) // 2
            way = self.way(full.what, "turn", closed[:count])
            found, low = (way, low) if way.reaches else (found, count + 1)
        return found

    def _little(self, closed: Sequence[Stage]) -> list[Way]:
        """Close some guides by as little as reaches the target."""
        least, most, found = 0.0, 1.0, None
        for _ in range(_HALVINGS):
            part = (least + most) / 2.0
            some = [self._by(stage, part) for stage in closed]
            way = self.way("guides closed just enough", "turn", some)
            least, most, found = (least, part, way) if way.reaches else (part, most, found)
        return [] if found is None else [found]

    def _by(self, closed: Stage, part: float) -> Stage:
        """Return a stage closed by whole steps, a part of the way to where it is closed."""
        now = self.line.stage(closed.name)
        step, wide = now.guides.setting_step_mm, now.guides.narrowest_mm
        steps = round((wide - closed.guides.narrowest_mm) / step)
        return now.with_clear_width(wide - step * int(np.ceil(part * steps)))

    def changed(self, closed: Way) -> list[Way]:
        """Change the machine in the stages that matter once the guides are as close as they go."""
        tips, found = self.by_tips(closed), []
        rest, names = sum(tips.values()), []
        for name, own in tips.items():
            if rest <= self.at_most / 2.0:
                break
            names.append(name)
            rest -= own
        for effort in EFFORTS[1:]:
            for change in CHANGES:
                if change.effort == effort:
                    found += self._with([change], f"{change.name}{CLOSED}", closed.line, names)
            if any(way.reaches for way in found):
                return found
        return [*found, *self._with(CHANGES, f"all of these together{CLOSED}", closed.line, names)]

    def _with(
        self,
        changes: Sequence[MachineChange],
        what: str,
        closed: Scenario,
        names: Sequence[str],
    ) -> list[Way]:
        """Do some changes in some stages, and close their guides as far as they then go."""
        made, line = [], closed
        wide = any(change.everywhere for change in changes)
        for name in [stage.name for stage in self.line.stages] if wide else names:
            now = new = self.line.stage(name)
            for change in changes if name in names else [c for c in changes if c.everywhere]:
                new = change.done(with_stage(self.line, new), new, self.can)
            if new != now:
                line = with_stage(line, closest(self.line, new, self.can))
                made.append(line.stage(name))
        return [self.way(what, changes[-1].effort, made, line)] if made else []
