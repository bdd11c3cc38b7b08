"""The invented trial that is shipped: drawn from passages, and found again by a fit."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import binom

from packsim.scenario import load_scenario
from packsim.scenario.trial_file import load_trials
from packsim.trial.fit import fit_trials
from tests.trial import draw

WORDS = re.compile(r"(?<== )\d+(?= |$)|(?<=,)\d+(?=,)", re.MULTILINE)
"""Whole numbers of a file: counts."""

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("passages")]


@pytest.fixture(scope="module", autouse=True)
def kept(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Keep the passages for both tests."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PACKSIM_CACHE", str(tmp_path_factory.mktemp("kept")))
        yield


def test_the_shipped_files_are_as_drawn(root: Path) -> None:
    """But for counts that a last digit of a passage may move by one or two, as on another machine.

    Where this fails a passage has changed: run python -m tests.trial.draw.
    """
    found = draw.files(load_scenario(root / "scenarios" / "swing_line.toml"))
    for name, text in found.items():
        shipped = (root / "scenarios" / "trials" / name).read_text(encoding="utf-8")
        assert WORDS.sub("", shipped) == WORDS.sub("", text)
        counts, now = (np.array(WORDS.findall(each), dtype=float) for each in (shipped, text))
        assert np.all(np.abs(counts - now) <= 2.0 + 0.1 * now)


def test_the_invented_kicks_and_places_are_found_again(root: Path) -> None:
    line = load_scenario(root / "scenarios" / "swing_line.toml")
    trials = load_trials([root / "scenarios" / "trials" / "swing_line_trial.toml"], line)
    fit = fit_trials(line, trials)
    for duty in ("flood", "rinse"):
        result = fit.group(duty).estimate
        assert result is not None
        assert result.low <= draw.TRUTH[duty] <= result.high
    # the share at the edges is that of the passage
    assert fit.places is not None
    assert fit.contradicted == ""
    (left, centre, right), expected = fit.places.counted, fit.places.expected
    share = (expected[0] + expected[2]) / sum(expected)
    total = left + centre + right
    low, high = binom.ppf((0.005, 0.995), int(total), share)
    assert low <= left + right <= high
    assert share > 0.8  # most tip at the edges
    assert not any(count.odd or count.swapped for count in fit.counts)
