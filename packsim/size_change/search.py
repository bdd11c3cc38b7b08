"""The search for new bracket settings, run by run: width and sideways shift by turns.

What a stage needs hangs together: the balance angle under the sprays depends on where the can lines
stand to the nozzles, the guide window on the balance angle, the can lines on the width. So the
width and the shift are found by turns until neither moves any more.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from packsim.answers import Answer, answer_stage
from packsim.line import Bracket, Scenario, Stage
from packsim.nozzles.lane_lines import WORTH_A_SHIFT_MM, lane_lines_mm, nozzle_places_mm
from packsim.size_change.heights import hold_down_for, step_of
from packsim.size_change.moves import HoldDownMove, WirePart
from packsim.size_change.runs import Shift, line_lanes, line_shift
from packsim.width.lane_rule import lanes_width_mm
from packsim.width.reach import Reach, on_marks

WORTH_A_SHIFT_SHARE: Final = 0.05
"""Where every bracket could stay, a shift must gain more than this share of a diameter (assumed:
a jet that near to the middle of a can is as good as one on it)."""

ROUNDS: Final = 8
"""Most turns of width and shift. Two or three settle it: the can lines of a pack with slack stand
about its middle whatever the width is."""


@dataclass(frozen=True, slots=True)
class Draft:
    """One stage on its way to its new setting."""

    stage: Stage
    source: str
    hold_down: HoldDownMove | None
    answer: Answer
    settled: bool = True


@dataclass(frozen=True, slots=True)
class Search:
    """Finds the new setting of every stage of a run.

    Parameters
    ----------
    scenario : Scenario
        The line as it stands.
    from_size, to_size : str
        Size that leaves and size that comes.
    step_mm : float or None
        Step of new settings; None for each stage's own [mm].
    wires : tuple of WirePart
        Wires of every stage, as they shall hang.
    """

    scenario: Scenario
    from_size: str
    to_size: str
    step_mm: float | None
    wires: tuple[WirePart, ...]

    def run(self, run: tuple[int, ...]) -> dict[int, Draft]:
        """Return the new setting of every stage of a run."""
        done = {i: draft for i in run if (draft := self._on_record(i)) is not None}
        rest = [i for i in run if i not in done]
        return done | (self._in_turns(rest) if rest else {})

    def _on_record(self, i: int) -> Draft | None:
        """Return the stage at the setting on record for the new size, if there is one."""
        known = self.scenario.stages[i].setting_for(self.to_size)
        if known is None or self.to_size == self.from_size:
            return None
        return self._answered(i, known.brackets, "record")

    def _answered(self, i: int, brackets: tuple[Bracket, ...], source: str) -> Draft:
        """Answer a stage with the new size at given brackets, its hold-down set for it."""
        stage = self.scenario.stages[i]
        guides = stage.guides
        if self.wires[i].heights_mm:
            wires = replace(guides.wires, heights_mm=self.wires[i].heights_mm)
            guides = replace(guides, wires=wires)
        stage = replace(stage, guides=replace(guides, brackets=brackets))
        answer = self._answer(i, stage)
        step = step_of(stage, self.step_mm)
        old, new = self.scenario.size(self.from_size), self.scenario.size(self.to_size)
        hold = hold_down_for(self.scenario.stages[i], old, new, answer, step)
        if hold is not None and hold.new_mm != stage.hold_down_mm:
            stage = replace(stage, hold_down_mm=hold.new_mm)
            answer = self._answer(i, stage)
        return Draft(stage, source, hold, answer)

    def _answer(self, i: int, stage: Stage) -> Answer:
        stages = list(self.scenario.stages)
        stages[i] = stage
        return answer_stage(self.scenario.with_stages(tuple(stages)), stage.name, self.to_size)

    def _in_turns(self, run: list[int]) -> dict[int, Draft]:
        """Leave the run as it stands where that suits; else width and shift by turns."""
        stages = [self.scenario.stages[i] for i in run]
        diameter = self.scenario.size(self.to_size).diameter_mm
        lanes = line_lanes(stages, diameter, self.scenario.mat.width_mm)
        width = lanes_width_mm(lanes, diameter, stages[0].layout)
        stays = {i: self._as_it_stands(i, lanes) for i in run}
        good = {i: draft for i, draft in stays.items() if draft is not None}
        if len(good) == len(run):
            shift = self._best_shift(good)
            if shift.gain_mm <= max(WORTH_A_SHIFT_MM, WORTH_A_SHIFT_SHARE * diameter):
                return good
        trial = {i: self._set_to(i, width, 0.0, "window") for i in run}
        last: list[tuple[Bracket, ...]] = []
        for _ in range(ROUNDS):
            shift = self._best_shift(trial)
            worth = shift.forced or shift.gain_mm > WORTH_A_SHIFT_MM
            move = shift.shift_mm if worth else 0.0
            trial = {i: self._next_draft(i, trial[i], stays[i], move) for i in run}
            reached = [draft.stage.guides.brackets for draft in trial.values()]
            if reached == last:
                return trial
            last = reached
        return {i: replace(draft, settled=False) for i, draft in trial.items()}

    def _as_it_stands(self, i: int, lanes: int) -> Draft | None:
        """Return the stage as it stands, if that suits the new size."""
        draft = self._answered(i, self.scenario.stages[i].guides.brackets, "stays")
        answer = draft.answer
        inside = answer.window.verdict(answer.pack.clear_width_mm) == "inside"
        return draft if inside and answer.pack.lanes == lanes else None

    def _best_shift(self, trial: dict[int, Draft]) -> Shift:
        """Shift of the run from where its middles are now, for the packs of this round."""
        lines, nozzles, lows, highs = [], [], [], []
        for i, draft in trial.items():
            pack = draft.answer.pack
            now = self.scenario.stages[i].guides.centre_mm
            lines.append(lane_lines_mm(pack, now - pack.clear_width_mm / 2.0))
            nozzles.append(nozzle_places_mm(draft.stage.headers))
            low, high = self._reach(i).centres_mm(pack.clear_width_mm)
            lows.append(low - now)
            highs.append(high - now)
        low, high = max(lows), min(highs)
        if low > high:  # no shift suits all: each stage is brought within its own reach later
            low = high = 0.0
        return line_shift(lines, nozzles, (low, high))

    def _next_draft(self, i: int, draft: Draft, stays: Draft | None, shift_mm: float) -> Draft:
        """One turn: the window of the last pack gives the next width, unless nothing need move."""
        if shift_mm == 0.0 and stays is not None:
            return stays
        window = draft.answer.window
        if window.empty:
            return self._set_to(i, window.low_mm, shift_mm, "low end")
        return self._set_to(i, (window.low_mm + window.high_mm) / 2.0, shift_mm, "window", draft)

    def _reach(self, i: int) -> Reach:
        return Reach.of(self.scenario.stages[i].guides, self.scenario.mat.width_mm)

    def _set_to(
        self, i: int, width_mm: float, shift_mm: float, source: str, last: Draft | None = None
    ) -> Draft:
        """Set a stage to a width about its shifted middle, within reach, on whole steps."""
        reach, guides = self._reach(i), self.scenario.stages[i].guides
        if reach.widths_mm[1] < self.scenario.size(self.to_size).diameter_mm:
            # no can fits within the travel: set it right, and the travel's own alert says so
            reach = Reach(self.scenario.mat.width_mm, 0.0, math.inf)
        low, high = reach.widths_mm
        width = min(max(width_mm, low), high)
        least, most = reach.centres_mm(width)
        centre = min(max(guides.centre_mm + shift_mm, least), most)
        span = (width_mm, math.inf)
        if last is not None:
            span = (last.answer.window.low_mm, last.answer.window.high_mm)
        step = step_of(self.scenario.stages[i], self.step_mm)
        gaps = on_marks(width, centre, span, reach, step)
        left, right = gaps[0], self.scenario.mat.width_mm - gaps[1]
        new = guides.with_faces(left, right).brackets
        brackets = new if guides.shape == "funnel" else _sparing(guides.brackets, new, span, step)
        return self._answered(i, brackets, source if width == width_mm else "reach")


def _sparing(
    now: Sequence[Bracket], new: tuple[Bracket, ...], span_mm: tuple[float, float], step_mm: float
) -> tuple[Bracket, ...]:
    """Leave faces that would move by less than half a step, where the window allows it.

    No crew sets that, and no rule shows it.
    """
    kept = tuple(
        Bracket(
            b.station_mm,
            a.left_mm if abs(b.left_mm - a.left_mm) < step_mm / 2.0 else b.left_mm,
            a.right_mm if abs(b.right_mm - a.right_mm) < step_mm / 2.0 else b.right_mm,
        )
        for a, b in zip(now, new, strict=True)
    )
    inside = all(span_mm[0] <= b.clear_width_mm <= span_mm[1] for b in kept)
    return kept if inside else new
