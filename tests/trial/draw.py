"""Draw the invented trial of the swing line anew: ``python -m tests.trial.draw``.

The counts come from passages of the shipped scenario, so they are drawn again whenever what a
passage does has changed. The same program draws the same files.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from scipy.stats import poisson

from packsim.line import Scenario
from packsim.scenario import load_scenario
from packsim.trial.chances import chance_at, with_kicks

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"
SIZE, SEED = "sleek body", 211

TRUTH = {"flood": 0.04, "rinse": 0.03, "blow-off": 0.08, "drain": 0.02}
"""Invented mean kick energies by duty [mJ]."""

TRIALS = (
    ("as found", "2025-03-04", 0.0, 60_000, "Hold-downs raised clear of the taller can."),
    ("closed 6 mm", "2025-03-05", 6.0, 120_000, ""),
    ("closed 9 mm", "2025-03-06", 9.0, 200_000,
     "Counter reset at shift change, cans read from the palletiser."),
    ("closed 12 mm", "2025-03-07", 12.0, 400_000, ""),
)  # fmt: skip
"""Name, day, how far every stage is closed [mm], cans passed, remarks."""

TOML_HEAD = f"""\
# INVENTED. No line was tried and no can was counted: the tips below were drawn at random from
# passages of the moving pack, with kick energies of {TRUTH["flood"]:g} mJ in the floods,
# {TRUTH["rinse"]:g} mJ in the rinses and {TRUTH["blow-off"]:g} mJ in the blow-off, so that a fit
# should find these again. It shows the layout of a trial file, nothing else.
#
# The draw: seed {SEED} (default_rng of numpy); trial by trial and stage by stage three Poisson
# counts, of left edge, centre and right edge. A mean is the cans times the chance of a tip there,
# from passages at the clear widths of the trial. Both files again: python -m tests.trial.draw
#
# The sleek body runs through guides still set for the 211 body, and the guides are closed in steps.
# Every step goes to the safe side of the one before it.

schema = 2
about = "Invented trial of the sleek body on the swing line, to show the layout of the file."
"""

CSV_HEAD = """\
# INVENTED: the same trials as swing_line_trial.toml with nobody counting by stage.
trial,date,size,cans,stage,clear_width,tipped,tipped_left,tipped_centre,tipped_right,remarks
"""


def drawn(scenario: Scenario) -> list[tuple[list[float], np.ndarray]]:
    """Return the clear widths of every trial and its counts by stage and place, shape (k, 3)."""
    rng = np.random.default_rng(SEED)
    line = with_kicks(scenario, {s.name: TRUTH[s.duty] for s in scenario.stages})
    found = []
    for _, _, closed_mm, cans, _ in TRIALS:
        widths = [stage.guides.narrowest_mm - closed_mm for stage in scenario.stages]
        chance = chance_at(line, SIZE, widths)
        means = np.array([stage.by_place for stage in chance.stages]) * cans / 1e6
        # by the inverse of the distribution: a mean that moves a little moves a count by one
        found.append((widths, poisson.ppf(rng.random(means.shape), means).astype(int)))
    return found


def files(scenario: Scenario) -> dict[str, str]:
    """Return both files by name."""
    toml, sheet = TOML_HEAD, CSV_HEAD
    for (name, day, _, cans, remarks), (widths, tips) in zip(TRIALS, drawn(scenario), strict=True):
        left, centre, right = tips.sum(axis=0).tolist()
        toml += f'''
[[trials]]
name = "{name}"
date = {day}
size = "{SIZE}"
cans = {cans:_}
tipped = {tips.sum()}                # all stages together
tipped_left = {left}            # of these, in the lane next to the left guide
tipped_centre = {centre}
tipped_right = {right}
'''
        toml += f'remarks = "{remarks}"\n' if remarks else ""
        for stage, width, counts in zip(scenario.stages, widths, tips, strict=True):
            toml += f'''
[[trials.stages]]
stage = "{stage.name}"
clear_width = "{width:g} mm"
tipped = {counts.sum()}
'''
            sheet += f"{name},{day},{SIZE},{cans},{stage.name},{width:g} mm,,,,,\n"
        said = f'"{remarks}"' if "," in remarks else remarks
        sheet += f"{name},{day},{SIZE},{cans},,,{tips.sum()},{left},{centre},{right},{said}\n"
    return {"swing_line_trial.toml": toml, "swing_line_totals.csv": sheet}


if __name__ == "__main__":
    for name, text in files(load_scenario(SCENARIOS / "swing_line.toml")).items():
        (SCENARIOS / "trials" / name).write_text(text, encoding="utf-8")
