"""A knob: one thing of a stage that can be set, and the rest left alone."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from packsim.errors import InputError
from packsim.line.plant import Scenario
from packsim.line.stage import Stage


@dataclass(frozen=True, slots=True)
class Knob:
    """One thing of a stage that can be set.

    Parameters
    ----------
    name : str
        What a person calls it.
    kind : str
        What sort of quantity it takes, in the units inside the package.
    what : str
        What it turns, in a few words.
    turn : callable
        Returns a stage with the thing at a value.
    now : callable
        Returns the value it has in a stage.
    """

    name: str
    kind: str
    what: str
    turn: Callable[[Stage, float], Stage]
    now: Callable[[Stage], float]

    def set(self, scenario: Scenario, stage_index: int, value: float) -> Scenario:
        """Return the scenario with this knob at a value in one stage.

        Raises
        ------
        InputError
            If the stage cannot have the value; the key names the knob.
        """
        stages = list(scenario.stages)
        try:
            stages[stage_index] = self.turn(stages[stage_index], value)
        except InputError as error:
            raise error.under(self.name) from error
        return scenario.with_stages(tuple(stages))


def field_at(thing: Any, path: str) -> Any:
    """Return a field of a noun, or of its parts; None where a part on the way is None.

    A whole number in a path is a place in a tuple, as in ``stages.0.guides.wires.tension_N``.
    """
    for part in path.split("."):
        if thing is None:
            return None
        thing = thing[int(part)] if part.isdecimal() else getattr(thing, part)
    return thing


def with_field(thing: Any, path: str, value: object) -> Any:
    """Return a noun with a field of it, or of its parts, at another value; paths as `field_at`."""
    name, _, rest = path.partition(".")
    if isinstance(thing, tuple):
        at = int(name)
        return (
            *thing[:at],
            with_field(thing[at], rest, value) if rest else value,
            *thing[at + 1 :],
        )
    return replace(
        thing, **{name: with_field(getattr(thing, name), rest, value) if rest else value}
    )
