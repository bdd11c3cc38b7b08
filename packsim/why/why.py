"""Collects the reasons behind the answers about one stage with one can size."""

from __future__ import annotations

from dataclasses import dataclass

from packsim.answers import Answer, answer_stage
from packsim.assumption import Assumption
from packsim.line import Scenario, Stage
from packsim.tipping.row_parting import RowParting, row_parting
from packsim.tipping.sliding import Sliding, sliding
from packsim.why.energy import Energies, energies
from packsim.why.leaning import CanLeans, Rocking, can_leans, rocking
from packsim.why.sprays import SprayTerms, spray_terms
from packsim.why.wires import WireReasons, wire_reasons


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
    energies : Energies or None
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
    energies: Energies | None
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
        parting=row_parting(answer.pack, answer.tipping.safe.slack_mm),
        wires=wire_reasons(scenario, stage, answer),
        spray=spray_terms(scenario, stage, answer),
        energies=energies(stage, answer),
        on_neighbour=sliding(answer.stance, loosest.centre_lean_rad, friction),
        on_wire=None
        if wire is None
        else sliding(answer.stance, loosest.edge_lean_rad, friction, wire_height_mm=wire),
        rocking=rocking(answer.stance),
    )
