"""The invented trial that is shipped: drawn from passages, and found again by a fit."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from packsim.chance import chance_of
from packsim.chance.sample import Plan
from packsim.scenario import load_scenario
from packsim.scenario.trial_file import load_trials
from packsim.trial import chances
from packsim.trial.fit import fit_trials
from tests.trial import draw

WORDS = re.compile(r"(?<== )\d+(?= |$)|(?<=,)\d+(?=,)", re.MULTILINE)
"""Whole numbers of a file: counts."""

SMALL = Plan(slice_mm=200.0, cans=50, dt_s=0.5, look_mm=500.0)
"""Short slices, seldom looked at: 650 cans of each trial are enough here."""


def test_the_shipped_files_are_as_drawn(root: Path) -> None:
    """But for the counts, which come from passages that take minutes: see the test below."""
    found = draw.files(load_scenario(root / "scenarios" / "swing_line.toml"))
    for name, text in found.items():
        shipped = (root / "scenarios" / "trials" / name).read_text(encoding="utf-8")
        assert WORDS.sub("", shipped) == WORDS.sub("", text)


@pytest.mark.all
def test_the_invented_kicks_and_places_are_found_again(
    root: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, passages: None
) -> None:
    """Where this fails a passage has changed: run python -m tests.trial.draw."""
    monkeypatch.setenv("PACKSIM_CACHE", str(tmp_path))
    monkeypatch.setattr(
        chances,
        "chance_of",
        lambda line, size, progress=None: chance_of(line, size, accuracy=10.0, plan=SMALL),
    )
    line = load_scenario(root / "scenarios" / "swing_line.toml")
    trials = load_trials([root / "scenarios" / "trials" / "swing_line_trial.toml"], line)
    fit = fit_trials(line, trials)
    for duty in ("flood", "rinse"):
        result = fit.group(duty).estimate
        assert result is not None
        assert result.low <= draw.TRUTH[duty] <= result.high
        assert result.high < 2.0 * result.low  # an interval that tells something
    # the share at the edges is that of the passage
    assert fit.contradicted == ""
    assert fit.places is not None
    shares = [(t[0] + t[2]) / sum(t) for t in (fit.places.counted, fit.places.expected)]
    assert shares[0] == pytest.approx(shares[1], abs=0.03)
    assert min(shares) > 0.9  # most tip at the edges
    assert fit.places.counted[0] > 0.9 * sum(fit.places.counted)  # the mat drifts to the left
    assert not any(count.odd or count.swapped for count in fit.counts)
