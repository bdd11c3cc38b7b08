"""How high the wires hang, which of them holds an edge can, and how few would serve all sizes."""

from __future__ import annotations

from dataclasses import dataclass

from packsim.answers import Answer
from packsim.assumption import Assumption
from packsim.line import Scenario, Stage
from packsim.tipping.wire_lean import wire_limit_mm
from packsim.width.guide_wires import WireSpan, slackest_span
from packsim.width.wire_heights import Margins, WireBand, WirePlan, fewest_wires, wire_bands


@dataclass(frozen=True, slots=True)
class WireUse:
    """One wire of a stage.

    Parameters
    ----------
    height_mm : float
        As set at the brackets [mm].
    lowest_mm : float
        At mid-span of the slackest span, where tipping is judged; 0 or less is on the mat [mm].
    limit_mm : float
        Gap up to which it alone brings an edge can back; 0 above the can tops [mm].
    governs : bool
        Whether it sets the edge limit of the stage.
    serves : tuple of str
        What it does, by size.
    """

    height_mm: float
    lowest_mm: float
    limit_mm: float
    governs: bool
    serves: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WireReasons:
    """The wires of a stage.

    Parameters
    ----------
    wires : tuple of WireUse
        Lowest first.
    span : WireSpan or None
        The slackest span; None with a single bracket.
    bands : tuple of WireBand
        Heights each size of the line wants a wire at, cans as they stand in this stage.
    plan : WirePlan
        The fewest wires for all of them, and why no fewer.
    open_bands : tuple of WireBand
        Those no wire of the stage lies in.
    assumed : tuple of Assumption
        Margins nobody gave.
    """

    wires: tuple[WireUse, ...]
    span: WireSpan | None
    bands: tuple[WireBand, ...]
    plan: WirePlan
    open_bands: tuple[WireBand, ...]
    assumed: tuple[Assumption, ...]


def wire_reasons(scenario: Scenario, stage: Stage, answer: Answer) -> WireReasons:
    """Say what each wire of a stage does.

    Parameters
    ----------
    scenario : Scenario
        The case, for all its sizes.
    stage : Stage
        The stage.
    answer : Answer
        Its answers for one size; its effective balance angle counts for the limits.

    Returns
    -------
    WireReasons
        Bands are those of cans at rest with the stage's pool.
    """
    margins = Margins()
    bands = tuple(
        band
        for can in scenario.sizes
        for band in wire_bands(can.name, can.stance(stage.pool_fraction), margins)
    )
    span = slackest_span(stage.guides, stage.temperature_C, stage.pack_pressure_N_per_m)
    heights = stage.guides.wires.heights_mm
    balance, governing = answer.tipping.balance_angle_rad, answer.tipping.safe.governing_wire_mm
    wires = []
    for z in heights:
        low = z if span is None else span.lowest_mm(z)
        limit = float(wire_limit_mm(answer.stance.height_mm, balance, low)) if low > 0.0 else 0.0
        serves = tuple(f"{b.size} {b.use}" for b in bands if b.holds(z))
        wires.append(WireUse(z, low, limit, low == governing, serves))
    unserved = tuple(b for b in bands if not any(b.holds(z) for z in heights))
    plan = fewest_wires(bands)
    return WireReasons(
        wires=tuple(wires),
        span=span,
        bands=bands,
        plan=plan,
        open_bands=unserved,
        assumed=margins.assumed,
    )
