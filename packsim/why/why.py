"""Collects the reasons behind the answers about one stage with one can size; wires among them."""

from dataclasses import dataclass

from packsim.answers import Answer, answer_stage, stage_bands
from packsim.arrays import Floats
from packsim.errors import Assumption
from packsim.line import Scenario, Stage
from packsim.pack.crosswise import RowParting, row_parting
from packsim.tipping.gathered_slack import GatheredLean
from packsim.tipping.lean import LeanEnvelope
from packsim.tipping.rocking import Rocking, rocking
from packsim.tipping.safe_slack import wire_limit_mm
from packsim.tipping.sliding import Sliding, sliding
from packsim.why.cans import RowEnergies, SprayTerms, row_energies, spray_terms
from packsim.width.guide_wires import WireSpan, slackest_span
from packsim.width.wire_heights import Margins, WireBand, WirePlan, fewest_wires


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
        Bands are those of cans at rest, the dome water as is worst there.
    """
    bands = tuple(band for can in scenario.sizes for band in stage_bands(stage, can))
    span = slackest_span(stage.guides, stage.temperature_C, stage.pack_pressure_N_per_m)
    heights = stage.guides.wires.heights_mm
    balance, governing = answer.worst.balance_rad, answer.tipping.safe.governing_wire_mm
    wires = []
    for z in heights:
        low = z - (0.0 if span is None else span.drop_mm)
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
        assumed=Margins().assumed,
    )


@dataclass(frozen=True, slots=True, eq=False)
class CanLeans:
    """Leans of every can of the pack as laid.

    Parameters
    ----------
    centres_mm : ndarray, shape (n, 2)
        Can centres, along travel and from the left guide [mm].
    own : LeanEnvelope
        Neighbours standing still.
    gathered : GatheredLean
        All slack of a can's chain gathered beside it.
    """

    centres_mm: Floats
    own: LeanEnvelope
    gathered: GatheredLean


def can_leans(answer: Answer) -> CanLeans | None:
    """Return the leans of every can of an answer's pack; None where nothing fits."""
    pack, tips = answer.pack, answer.tipping
    if not pack.fits:
        return None
    return CanLeans(pack.centres_mm, tips.own_leans(pack), tips.gathered_leans(pack))


@dataclass(frozen=True, slots=True)
class Reasons:
    """Everything behind the answers about one stage with one can size.

    Parameters
    ----------
    scenario : Scenario
        The case.
    stage : Stage
        The stage.
    answer : Answer
        The answers.
    leans : CanLeans or None
        Leans of every can; None where nothing fits.
    parting : RowParting or None
        Short rows of a crosswise pack, against the safe slack; None for other packs.
    wires : WireReasons
        What each wire does, and the fewest for all sizes.
    spray : SprayTerms or None
        The sprays header by header; None where nothing sprays.
    energies : RowEnergies or None
        What it costs to tip a can; None where nothing stands or no wire holds.
    on_neighbour, on_wire : Sliding or None
        What becomes of a can that leans as far as all slack lets it, on a neighbour and on the
        governing wire; None where there is no such wire.
    rocking : Rocking
        How a can by itself rocks.
    """

    scenario: Scenario
    stage: Stage
    answer: Answer
    leans: CanLeans | None
    parting: RowParting | None
    wires: WireReasons
    spray: SprayTerms | None
    energies: RowEnergies | None
    on_neighbour: Sliding
    on_wire: Sliding | None
    rocking: Rocking

    @property
    def assumed(self) -> tuple[Assumption, ...]:
        """Everything any number here rests on without a measurement, each once."""
        return tuple(dict.fromkeys((*self.answer.assumed, *self.wires.assumed)))


def reasons(scenario: Scenario, stage_name: str, size: str) -> Reasons:
    """Collect the reasons behind one stage with one can size.

    Parameters
    ----------
    scenario : Scenario
        The case.
    stage_name, size : str
        Names of both.

    Returns
    -------
    Reasons
        Every term behind the width, the heights, the slack and the verdict.

    Raises
    ------
    InputError
        If a name is unknown, or a value is outside what a formula holds for.
    """
    stage = scenario.stage(stage_name)
    answer = answer_stage(scenario, stage.name, size)
    loosest, wire = answer.tipping.loosest, answer.tipping.safe.governing_wire_mm
    friction = scenario.mat.friction
    return Reasons(
        scenario=scenario,
        stage=stage,
        answer=answer,
        leans=can_leans(answer),
        parting=None
        if answer.pack.layout == "lengthwise"
        else row_parting(answer.pack, answer.tipping.safe.slack_mm),
        wires=wire_reasons(scenario, stage, answer),
        spray=spray_terms(scenario, stage, answer),
        energies=row_energies(stage, answer),
        on_neighbour=sliding(answer.stance, loosest.centre_lean_rad, friction),
        on_wire=None
        if wire is None
        else sliding(answer.stance, loosest.edge_lean_rad, friction, wire_height_mm=wire),
        rocking=rocking(answer.stance, answer.worst.least_mJ),
    )
