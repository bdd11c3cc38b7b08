"""The whole case: a mat, the stages along it, and the can sizes it must run."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from packsim.can import Can
from packsim.constants import UNIT_SYSTEMS
from packsim.errors import (
    Assumption,
    InputError,
    at_least,
    between,
    non_negative,
    one_of,
    positive,
    whole,
)
from packsim.line.history import PastCount
from packsim.line.stage import Stage

if TYPE_CHECKING:
    from packsim.line.input_range import InputRange


@dataclass(frozen=True, slots=True)
class Mat:
    """The moving open mesh that carries the pack.

    Parameters
    ----------
    width_mm : float
        Usable width [mm].
    speed_mm_per_s : float
        Speed [mm/s].
    open_fraction : float
        Share of its area that is open to sprays from below, 0..1 [-].
    friction : float
        Coefficient of static friction under a can [-].
    mass_kg_per_m2 : float
        Mass per area [kg/m²].
    specific_heat_J_per_kgK : float
        Specific heat of its material [J/(kg K)].
    pack_enters : float
        Where between the guides the pack comes onto the mat, as the share of its slack that lies
        to the left of it: 0 at the left guide, 1 at the right one [-].
    start_acceleration_mm_per_s2 : float
        Acceleration of the mat as it starts, stops or is jogged, 0 where none is known [mm/s²].
    odd_share, odd_by_mm : float
        Share of the cans that come dented or short, and by how much narrower such a can is met at
        the height of the others' tops [-], [mm].
    """

    width_mm: float
    speed_mm_per_s: float
    open_fraction: float = 0.6
    friction: float = 0.5
    mass_kg_per_m2: float = 9.2
    specific_heat_J_per_kgK: float = 500.0
    pack_enters: float = 0.5
    start_acceleration_mm_per_s2: float = 0.0
    odd_share: float = 0.0
    odd_by_mm: float = 0.0

    def __post_init__(self) -> None:
        positive("width_mm", self.width_mm)
        positive("speed_mm_per_s", self.speed_mm_per_s)
        between("open_fraction", self.open_fraction, 0.0, 1.0)
        non_negative("friction", self.friction)
        non_negative("mass_kg_per_m2", self.mass_kg_per_m2)
        positive("specific_heat_J_per_kgK", self.specific_heat_J_per_kgK)
        between("odd_share", self.odd_share, 0.0, 1.0)
        non_negative("odd_by_mm", self.odd_by_mm)
        non_negative("start_acceleration_mm_per_s2", self.start_acceleration_mm_per_s2)
        between("pack_enters", self.pack_enters, 0.0, 1.0)


@dataclass(frozen=True, slots=True)
class Unlikely:
    """A value that can be, but hardly is: a file is read with it, and the engineer is asked.

    Parameters
    ----------
    key : str
        Its key path in the file.
    text : str
        The value as the file has it.
    usual : str
        What is usual there.
    question : str
        What may have been meant, or empty.
    stage, size : str
        The stage or the size it is a value of; the other is empty.
    """

    key: str
    text: str
    usual: str
    question: str = ""
    stage: str = ""
    size: str = ""


@dataclass(frozen=True, slots=True)
class Scenario:
    """One case to be studied.

    Parameters
    ----------
    name, about : str
        Title, and what the case stands for.
    mat : Mat
        The mat.
    stages : tuple of Stage
        In order along travel; names are unique.
    sizes : tuple of Can
        The can sizes the line runs; names are unique.
    set_for : str
        Name of the size the guides are set for now.
    factor : float
        Safety factor on the safe slack, at least 1 [-].
    seed : int
        Seed of everything random that is asked of this scenario.
    assumed : tuple of Assumption
        Values of the line that nobody gave; sizes carry their own.
    rule_step_mm : float or None
        Step of the rule that guides are set by; None for each stage's own setting step, which
        counts too where it is several marks of the rule [mm].
    units : {"metric", "inch"}
        Unit system that answers are told in where nobody asks for another.
    unlikely : tuple of Unlikely
        Values to ask about.
    history : tuple of PastCount
        What the line is known to have done.
    ranges : sequence of InputRange
        How well each number is known, made when first asked for; empty unless read from a file.
    """

    name: str
    about: str
    mat: Mat
    stages: tuple[Stage, ...]
    sizes: tuple[Can, ...]
    set_for: str
    factor: float = 2.0
    seed: int = 0
    assumed: tuple[Assumption, ...] = ()
    rule_step_mm: float | None = None
    units: str = "metric"
    unlikely: tuple[Unlikely, ...] = field(default=(), compare=False)
    history: tuple[PastCount, ...] = ()
    ranges: Sequence[InputRange] = field(default=(), compare=False)

    def __post_init__(self) -> None:
        if not self.stages:
            raise InputError("stages", "none", "at least one stage")
        if not self.sizes:
            raise InputError("sizes", "none", "at least one can size")
        _unique("stages", [stage.name for stage in self.stages])
        _unique("sizes", [can.name for can in self.sizes])
        if self.set_for not in [can.name for can in self.sizes]:
            raise InputError("set_for", repr(self.set_for), "the name of one of the sizes")
        self._check_settings()
        at_least("factor", self.factor, 1.0)
        one_of("units", self.units, UNIT_SYSTEMS)
        whole("seed", self.seed, 0, 2**63 - 1, "a whole number from 0 to 2^63 - 1")

    def _check_settings(self) -> None:
        names = [can.name for can in self.sizes]
        for i, stage in enumerate(self.stages):
            for j, setting in enumerate(stage.settings):
                if setting.size not in names:
                    key, known = f"stages[{i}].settings[{j}].size", ", ".join(names)
                    raise InputError(key, repr(setting.size), f"one of the sizes: {known}")

    def as_it_was(self, past: PastCount) -> Scenario:
        """Return this scenario with the clear widths of a time past, and no history of its own.

        Raises `InputError` for a size or a stage that is not on the line.
        """
        self.size(past.size)
        for name in (past.stage, *(name for name, _ in past.widths_mm)):
            if name:
                self.stage(name)
        own = dict(past.widths_mm)
        widths = [own.get(stage.name, past.clear_width_mm) for stage in self.stages]
        stages = tuple(
            stage if width is None else stage.with_clear_width(width)
            for stage, width in zip(self.stages, widths, strict=True)
        )
        return replace(self, stages=stages, history=())

    def size(self, name: str | None, key: str = "size") -> Can:
        """Return the can size called ``name``; the one the guides are set for where it is None.

        Raises `InputError` under ``key`` if there is none.
        """
        for can in self.sizes:
            if can.name == (self.set_for if name is None else name):
                return can
        known = ", ".join(can.name for can in self.sizes)
        raise InputError(key, repr(name), f"one of {known}")

    def stage(self, name: str) -> Stage:
        """Return the stage called ``name``; raise `InputError` if there is none."""
        for stage in self.stages:
            if stage.name == name:
                return stage
        known = ", ".join(stage.name for stage in self.stages)
        raise InputError("stage", repr(name), f"one of {known}")

    def with_stages(self, stages: tuple[Stage, ...]) -> Scenario:
        """Return this scenario with other stages."""
        return replace(self, stages=stages)

    def assumed_in(self, stage: Stage, can: Can) -> tuple[Assumption, ...]:
        """Return what an answer for one stage and one size rests on without a measurement."""
        other = [f"stages[{i}]." for i, one in enumerate(self.stages) if one.name != stage.name]
        line = [a for a in self.assumed if not a.key.startswith(tuple(other) or ("\0",))]
        return (*line, *can.assumed)


def _unique(key: str, names: list[str]) -> None:
    for name in names:
        if names.count(name) > 1:
            raise InputError(key, f"{name!r} twice", "a different name for each")
