"""The chance of a tip of a pack as it stands at a moment: one that runs, or one that was seen."""

from dataclasses import replace

import numpy as np

from packsim.chance.rate import StageChance, rates_of
from packsim.chance.sample import Plan, looked_at
from packsim.chance.spectrum import Spectrum
from packsim.line import Scenario
from packsim.pack.state import Pack
from packsim.passage import PLACES
from packsim.passage.kicks import place_index
from packsim.passage.laid import laid_pack
from packsim.passage.state import State
from packsim.passage.step import start_slice
from packsim.passage.tip import needed_mJ
from packsim.passage.track import Track, loaded_track

_REPEATS = 4
"""How often a pack that was seen is looked at, from other places and in other directions."""

_NEVER = 25.0
"""A barrier this many times the mean kick is passed by one kick in 10^10."""


def tips_per_s(state: State, track: Track, rng: np.random.Generator, looks: int = 400) -> float:
    """Return the tips to be expected of a running pack in a second as it stands.

    Parameters
    ----------
    state : State
        The pack, tipped cans and all.
    track : Track
        The line.
    rng : Generator
        Picks the cans that are looked at, by their kicks, and a direction for each.
    looks : int
        How many are picked of the cans beside the guides, and how many of the others.

    Returns
    -------
    float
        Σ ν · exp(−E/E_k), estimated without bias from the looks [1/s].
    """
    station = state.station_mm
    low, high, stage = track.limits_mm(station, state.radius_mm)
    rate = np.where(state.tipped, 0.0, track.shaking.rate_per_s(stage, station))
    laid = laid_pack(state, track.standing.height_mm, low, high, stage < 0, station)
    places = place_index(state.y_mm, low, high, track.lane_mm)
    inside = places == PLACES.index("centre")
    tips = 0.0
    for group in (inside, ~inside):
        ladder = np.cumsum(np.where(group, rate, 0.0))
        if ladder.size == 0 or ladder[-1] == 0.0:
            continue
        can = np.searchsorted(ladder, rng.random(looks) * ladder[-1], side="right")
        can = np.minimum(can, ladder.size - 1)
        where = stage.take(can)
        kick = track.shaking.energy_mJ.take(where)
        turn = rng.random(looks) * 2.0 * np.pi
        needed = needed_mJ(laid, track, can, turn, where, _NEVER * kick)
        none = np.full(looks, np.inf)
        over = np.divide(needed, kick, out=none, where=kick > 0.0)
        tips += float(ladder[-1]) * float(np.exp(-over).mean())
    return tips


def standing_slice(scenario: Scenario, size: str, stage: str, pack: Pack) -> tuple[State, Track]:
    """Return a pack as a slice at the start of a stage, on a line as its size meets it.

    Parameters
    ----------
    scenario : Scenario
        The line; the clear width of the stage is that of the pack.
    size, stage : str
        Can size, and stage the pack stands in.
    pack : Pack
        Its cans, at least four diameters of it. Those that overlap are brought apart.

    Returns
    -------
    state : State
        The slice.
    track : Track
        The line, whose infeed is this pack.
    """
    track = loaded_track(scenario, size)
    number = track.stages.index(stage)
    start = float(track.bounds_mm[number])
    at = int(track.cell(start)) + 1
    place = pack.centres_mm[:, 0] + 1j * (pack.centres_mm[:, 1] + track.left_mm[at])
    infeed = replace(
        track.infeed,
        place_mm=place,
        length_mm=pack.length_mm,
        radius_tol_mm=0.0,
        odd_share=0.0,
        reason="",
    )
    track = replace(track, infeed=infeed)
    state = start_slice(track, np.random.default_rng(scenario.seed), pack.length_mm)
    return replace(state, travel_mm=start), track


def chance_as_seen(scenario: Scenario, size: str, stage: str, pack: Pack) -> StageChance:
    """Return the chance of a tip in a stage for cans that stand all along it as in a given pack.

    Parameters
    ----------
    scenario, size, stage, pack
        As for `standing_slice`.

    Returns
    -------
    StageChance
        As `packsim.chance.line_chance.chance_of` has it of a pack that moves; the interval is that
        of looking alone, since nothing else is left to chance.
    """
    state, track = standing_slice(scenario, size, stage, pack)
    number = track.stages.index(stage)
    seeds = np.random.SeedSequence(scenario.seed).spawn(_REPEATS)
    tables = [(looked_at(state, track, number, seed, Plan()),) for seed in seeds]
    spectrum = Spectrum.of((stage,), np.full(len(state), 1.0 / len(state)), tables)
    kicks = {stage: scenario.stage(stage).kicks.energy_mJ}
    return rates_of(spectrum, kicks)[1][0]
