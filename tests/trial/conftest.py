"""A small invented line that a trial can tell something about, and made-up spectra for it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence

import numpy as np
import pytest
from scipy.sparse import csr_array

from packsim.catalogue import custom_can
from packsim.chance import LineChance, Rate, Spectrum
from packsim.chance.spectrum import SURE, shared_out
from packsim.line import Bracket, Guides, Kicks, Mat, Scenario, Stage, Wires
from packsim.trial import chances
from packsim.trial.trial import StageCount, Trial

LANES, DIAMETER = 9, 58.0
PACK_MM = DIAMETER * (1.0 + (LANES - 1) * np.sqrt(3.0) / 2.0)
KICKS = 88.0
"""Kicks a can gets in a stage: 2 a second for 44 s."""


def stage(name: str, duty: str, energy: float) -> Stage:
    """One stage without sprays."""
    width = PACK_MM + 44.0
    guides = Guides((Bracket(0.0, 100.0, 100.0 + width),), Wires((30.0, 80.0), 600.0, 0.05, 1.3e6))
    return Stage(
        name, duty, 4000.0, guides, Kicks(energy, 2.0), state="slack", water_in_dome=(1.0, 1.0)
    )


@pytest.fixture(scope="session")
def line() -> Scenario:
    """Two floods and an oven, one slim can; slack of 44 mm as set."""
    return Scenario(
        "trial line",
        "Invented.",
        Mat(800.0, 90.0),
        (stage("wash", "flood", 0.04), stage("rinse", "rinse", 0.04), stage("dry", "oven", 0.02)),
        (custom_can("slim", DIAMETER, 160.0),),
        "slim",
        seed=7,
    )


def barriers_mJ(slack_mm: float) -> np.ndarray:
    """Made-up barriers of the cans at the guides: higher the less slack there is."""
    return 0.3 * np.exp((44.0 - slack_mm) / 30.0) * np.array([1.0, 1.2, 1.5])


def made_up(scenario: Scenario, noise: float = 0.0, edge: float = 1.0) -> LineChance:
    """A chance from barriers that are known in closed form, the same in each of eight repeats.

    Cans inside need 1.3 times the energy of those at the guides. ``noise`` is how far, as a
    standard deviation of ln, repeats lie apart; ``edge`` scales the barriers at the right edge.
    """
    rng = np.random.default_rng(5)
    weights = []
    for one in scenario.stages:
        slack = one.guides.narrowest_mm - PACK_MM
        rows = np.zeros((8, LANES, 3, SURE + 1))
        for lane in range(LANES):
            place = 0 if lane == 0 else 2 if lane == LANES - 1 else 1
            factor = {0: 1.0, 1: 1.3, 2: edge}[place]
            bins, weight = shared_out(factor * barriers_mJ(slack), np.full(3, KICKS / 24.0))
            if slack > 10.0:
                np.add.at(rows[:, lane, place], (slice(None), bins), weight)
        rows *= rng.lognormal(0.0, noise, (8, 1, 1, 1))
        weights.append(csr_array(rows.reshape(-1, SURE + 1)))
    spectrum = Spectrum(
        tuple(s.name for s in scenario.stages), np.full(LANES, 1.0 / LANES), tuple(weights)
    )
    none = Rate(0.0, (0.0, 0.0), 0.0)
    kicks = {s.name: s.kicks.energy_mJ for s in scenario.stages}
    return LineChance("slim", (), none, spectrum, kicks, 0.5, 0.2, 1000).at(kicks)


@pytest.fixture(autouse=True)
def spectra(monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> None:
    """Made-up spectra instead of passages, but where a test asks for real ones."""
    if "passages" not in request.fixturenames:
        monkeypatch.setattr(chances, "chance_of", lambda scenario, *_, **__: made_up(scenario))


@pytest.fixture
def passages() -> None:
    """Ask for real passages."""


MakeTrial = Callable[..., Trial]


@pytest.fixture(scope="session")
def make_trial(line: Scenario) -> MakeTrial:
    """A trial with one slack at every stage."""

    def make(
        slack_mm: float,
        cans: int,
        counts: Sequence[int | None],
        tipped: int | None = None,
        by_place: tuple[int, int, int] | None = None,
    ) -> Trial:
        stages = tuple(
            StageCount(stage.name, PACK_MM + slack_mm, count)
            for stage, count in zip(line.stages, counts, strict=True)
        )
        total = sum(c or 0 for c in counts) if tipped is None else tipped
        name = f"slack {slack_mm:g}"
        return Trial(name, dt.date(2025, 3, 4), "slim", cans, total, stages, by_place)

    return make
