"""How well each number of a scenario is known; and the scenario with one at another value."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from statistics import NormalDist
from typing import Final, overload

import numpy as np

from packsim.arrays import Floats
from packsim.errors import InputError, finite, one_of
from packsim.line.guides import Bracket, even_stations
from packsim.line.knob import with_field
from packsim.line.knobs import with_faces_moved
from packsim.line.plant import Scenario
from packsim.line.stage import Stage

KINDS: Final = ("measured", "given", "catalogue", "assumed")
"""How a value came to be: read with an instrument that says how well, written plainly in the file,
taken from the catalogue, or from nobody."""

SHAPES: Final = ("even", "normal", "choice")
"""``even``: anywhere between low and high alike. ``normal``: low and high lie two standard
deviations out ([jcgm2008]_, 6.2 and 6.3). ``choice``: one of a few words."""

_SURE = 1e-9  # nearest a share may be to 0 or 1: a normal value is then six deviations out


@dataclass(frozen=True, slots=True)
class InputRange:
    """One input of a scenario and what it may be.

    Parameters
    ----------
    key : str
        Its key path, as the file and complaints have it: ``sizes[0].diameter``. What is given or
        assumed once for every stage has one path: ``guides.tension``, ``headers.density``.
    value, low, high : float
        What it is taken as and what it may be, in ``inner`` units. Of a choice, the place of the
        word in ``choices``.
    kind : {"measured", "given", "catalogue", "assumed"}
        See `KINDS`.
    source : str
        Where the range comes from.
    shape : {"even", "normal", "choice"}
        See `SHAPES`.
    readings : int
        Number of readings it was worked out from; 0 where none were given.
    unit, inner : str
        Unit a file writes it in, and that of the numbers here; empty for a ratio or a choice.
    choices : tuple of str
        The words it may be, as a file has them; empty for a number.
    options : tuple of object
        What a noun holds for each of those words.
    places : tuple of str
        Fields of the scenario that hold it, such as ``stages.0.guides.wires.tension_N``.
    written : str
        How the file has it, as TOML, where the range stands in the file; the id of the catalogue
        for what is from there.
    """

    key: str
    value: float
    low: float
    high: float
    kind: str
    source: str
    shape: str = "even"
    readings: int = 0
    unit: str = ""
    inner: str = ""
    choices: tuple[str, ...] = ()
    options: tuple[object, ...] = ()
    places: tuple[str, ...] = ()
    written: str = ""

    def __post_init__(self) -> None:
        one_of("kind", self.kind, KINDS)
        one_of("shape", self.shape, SHAPES)
        if not finite("low", self.low) <= finite("value", self.value) <= finite("high", self.high):
            raise InputError(self.key, f"{self.low:g} to {self.high:g}", f"{self.value:g} within")

    @property
    def exact(self) -> bool:
        """Whether it can be nothing else."""
        return self.low == self.high

    def at_shares(self, shares: Floats) -> Floats:
        """Return the values below which it lies with some shares.

        Parameters
        ----------
        shares : ndarray
            From 0 to 1 [-].

        Returns
        -------
        ndarray
            As its shape has it; of a choice, each word alike.

        Examples
        --------
        >>> even = InputRange("mat.width", 5.0, 0.0, 10.0, "given", "common practice, no source")
        >>> even.at_shares(np.array([0.0, 0.25, 1.0])).tolist()
        [0.0, 2.5, 10.0]
        """
        if self.shape == "choice":
            return np.minimum(np.floor(shares * len(self.choices)), len(self.choices) - 1.0)
        if self.shape == "even":
            return np.asarray(self.low + shares * (self.high - self.low))
        normal = NormalDist(self.value, (self.high - self.low) / 4.0)
        sure = np.clip(shares, _SURE, 1.0 - _SURE).ravel().tolist()
        return np.reshape([normal.inv_cdf(share) for share in sure], np.shape(shares))


@dataclass(slots=True, eq=False)
class Ranges(Sequence[InputRange]):
    """Ranges that are made when first asked for; pickled as a plain tuple.

    Parameters
    ----------
    make : callable
        Returns them all.
    found : tuple of InputRange or None
        What it returned, once it was asked.
    """

    make: Callable[[], tuple[InputRange, ...]]
    found: tuple[InputRange, ...] | None = None

    @overload
    def __getitem__(self, at: int) -> InputRange: ...
    @overload
    def __getitem__(self, at: slice) -> tuple[InputRange, ...]: ...
    def __getitem__(self, at: int | slice) -> InputRange | tuple[InputRange, ...]:
        return self._all()[at]

    def __len__(self) -> int:
        return len(self._all())

    def __reduce__(self) -> tuple[type[tuple[InputRange, ...]], tuple[tuple[InputRange, ...]]]:
        return tuple, (self._all(),)

    def _all(self) -> tuple[InputRange, ...]:
        if self.found is None:
            self.found = self.make()
        return self.found


def range_of(scenario: Scenario, key: str) -> InputRange:
    """Return the range of one input; raise `InputError` naming the nearest keys if it has none."""
    for one in scenario.ranges:
        if one.key == key:
            return one
    near = difflib.get_close_matches(key, [one.key for one in scenario.ranges], n=3, cutoff=0.4)
    raise InputError(key, "no input of this key", " or ".join(near) or "a scenario from a file")


def with_value(scenario: Scenario, key: str, value: float) -> Scenario:
    """Return the scenario with one input at another value, and all else as it is.

    Parameters
    ----------
    scenario : Scenario
        Read from a file, so that it has ranges; those of the result are the same.
    key : str
        Key path of one of its ``ranges``.
    value : float
        New value in the ``inner`` unit of its range; of a choice, the place among ``choices``.

    Returns
    -------
    Scenario
        With every place of that input changed. A new clear width keeps the middle of the pass; a
        new bracket spacing keeps the run of the faces; a longer stage has its brackets farther
        apart; water in domes is the same in all of them. Mass and centre of gravity stay when a
        diameter changes: they are inputs of their own.

    Raises
    ------
    InputError
        If there is no such input, or the line cannot have the value.
    """
    one = range_of(scenario, key)
    new: object = finite(key, value)
    if one.choices:
        if value not in range(len(one.choices)):
            raise InputError(key, value, f"0 to {len(one.choices) - 1}, one of {one.choices}")
        new = one.options[int(value)]
    try:
        for place in one.places:
            scenario = _put(scenario, place, new)
    except InputError as problem:
        raise InputError(key, problem.got, problem.allowed) from None
    return scenario


def _put(scenario: Scenario, place: str, value: object) -> Scenario:
    owner, _, verb = place.rpartition(".")
    if verb in VERBS and isinstance(value, float):
        stage = scenario.stages[int(owner.removeprefix("stages."))]
        place, value = owner, VERBS[verb](stage, value)
    found: Scenario = with_field(scenario, place, value)
    return found


def _centred(stage: Stage, centre_mm: float) -> Stage:
    move_mm = centre_mm - stage.guides.centre_mm
    return with_faces_moved(stage, move_mm, move_mm)


def _spaced(stage: Stage, spacing_mm: float) -> Stage:
    """Return a stage with its brackets at other places, faces running as they did."""
    stations = even_stations(stage.length_mm, spacing_mm)

    def moved(brackets: tuple[Bracket, ...]) -> tuple[Bracket, ...]:
        known = [b.station_mm for b in brackets]
        left = np.interp(stations, known, [b.left_mm for b in brackets]).tolist()
        right = np.interp(stations, known, [b.right_mm for b in brackets]).tolist()
        return tuple(Bracket(*one) for one in zip(stations, left, right, strict=True))

    return _with_brackets(stage, moved)


def _lengthened(stage: Stage, length_mm: float) -> Stage:
    """Return a stage of another length, its brackets spread over it, its headers where they are."""
    share = length_mm / stage.length_mm
    longer = replace(stage, length_mm=max(length_mm, stage.length_mm))
    spread = _with_brackets(
        longer,
        lambda brackets: tuple(
            replace(b, station_mm=min(b.station_mm * share, length_mm)) for b in brackets
        ),
    )
    headers = tuple(replace(h, station_mm=min(h.station_mm, length_mm)) for h in stage.headers)
    return replace(spread, length_mm=length_mm, headers=headers)


def _with_brackets(
    stage: Stage, moved: Callable[[tuple[Bracket, ...]], tuple[Bracket, ...]]
) -> Stage:
    """Return a stage whose brackets have moved along it, in the settings on record too."""
    guides = replace(stage.guides, brackets=moved(stage.guides.brackets))
    settings = tuple(replace(one, brackets=moved(one.brackets)) for one in stage.settings)
    return replace(stage, guides=guides, settings=settings)


VERBS: Final[dict[str, Callable[[Stage, float], Stage]]] = {
    "clear_width()": Stage.with_clear_width,
    "pack_centre_from_left()": _centred,
    "bracket_spacing()": _spaced,
    "length()": _lengthened,
    "water_in_dome()": lambda stage, share: replace(stage, water_in_dome=(share, share)),
}
"""What is no single field of a stage, as the last part of a place."""
