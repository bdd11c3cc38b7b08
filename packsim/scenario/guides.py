"""From the guide tables to `Guides`: stage over line over default, and where brackets stand."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Final

from packsim.errors import InputError
from packsim.line import Bracket, Guides, Mat, Wires
from packsim.scenario.defaults import DEFAULTS, Ledger
from packsim.scenario.line_tables import MAX_ROWS, GuidesTable
from packsim.scenario.stage_tables import BracketTable, StageTable

__all__ = ["build_guides", "even_brackets", "listed_brackets", "wire_heights_key"]

_OWN: Final = {"wire_heights", "anchored", "travel_near", "travel_far", "bracket_spacing"}


def build_guides(
    stage: StageTable, index: int, line: GuidesTable, mat: Mat, ledger: Ledger
) -> Guides:
    """Return the guides of one stage; complaints carry the key path from the file's top."""
    numbers = {
        key: ledger.take(f"guides.{key}", _given(key, stage, line), DEFAULTS[f"guides.{key}"])
        for key in GuidesTable.model_fields
        if key not in _OWN
    }
    heights = _heights(stage, index, line)
    anchored = line.anchored if stage.guides.anchored is None else stage.guides.anchored
    if anchored is None:
        ledger.note("guides.anchored", "true", "both wire ends taken as fixed")
        anchored = True
    wires = Wires(
        heights,
        tension_N=numbers["tension"],
        mass_kg_per_m=numbers["wire_mass"],
        stiffness_N=numbers["wire_stiffness"],
        expansion_per_K=numbers["wire_expansion"],
        anchored=anchored,
    )
    return Guides(
        _brackets(stage, index, line, mat, ledger),
        wires,
        setting_temperature_C=numbers["setting_temperature"],
        frame_expansion_per_K=numbers["frame_expansion"],
        setting_step_mm=numbers["setting_step"],
        wear_mm=numbers["wear"],
        travel_mm=_travel(stage, index, line),
    )


def even_brackets(
    length_mm: float, spacing_mm: float, clear_width_mm: float, centre_mm: float
) -> tuple[Bracket, ...]:
    """Return brackets from one end of a stage to the other, evenly and no farther apart than asked.

    Parameters
    ----------
    length_mm, spacing_mm : float
        Stage length and longest distance between brackets [mm].
    clear_width_mm, centre_mm : float
        Where they are set [mm].

    Returns
    -------
    tuple of Bracket
        At least two.

    Examples
    --------
    >>> [bracket.station_mm for bracket in even_brackets(2500.0, 1000.0, 600.0, 500.0)]
    [0.0, 833.333, 1666.667, 2500.0]
    """
    gaps = max(1, math.ceil(length_mm / spacing_mm - 1e-9))
    left, right = centre_mm - clear_width_mm / 2.0, centre_mm + clear_width_mm / 2.0
    return tuple(Bracket(length_mm * i / gaps, left, right) for i in range(gaps + 1))


def wire_heights_key(stage: StageTable, index: int) -> str:
    """Return the key path under which a stage's wire heights stand."""
    own = stage.guides.wire_heights is not None
    return f"stages[{index}].guides.wire_heights" if own else "guides.wire_heights"


def _first(*choices: float | None) -> float | None:
    return next((choice for choice in choices if choice is not None), None)


def _given(key: str, stage: StageTable, line: GuidesTable) -> float | None:
    return _first(getattr(stage.guides, key), getattr(line, key))


def _heights(stage: StageTable, index: int, line: GuidesTable) -> tuple[float, ...]:
    key = wire_heights_key(stage, index)
    heights = stage.guides.wire_heights or line.wire_heights
    if heights is None:
        raise InputError(key, "nothing", "the wires' heights above the mat, lowest first")
    if any(b <= a for a, b in pairwise(heights)):
        shown = ", ".join(f"{height:g}" for height in heights)
        raise InputError(key, f"{shown} mm", "heights rising from the mat")
    return tuple(heights)


def _travel(stage: StageTable, index: int, line: GuidesTable) -> tuple[float, float] | None:
    near = _given("travel_near", stage, line)
    far = _given("travel_far", stage, line)
    if near is None and far is None:
        return None
    own = stage.guides.travel_near is not None or stage.guides.travel_far is not None
    key = f"stages[{index}].guides" if own else "guides"
    if near is None or far is None:
        lost = "travel_near" if near is None else "travel_far"
        raise InputError(f"{key}.{lost}", "nothing", "both travel_near and travel_far, or neither")
    if near >= far:
        raise InputError(f"{key}.travel_far", f"{far:g} mm", f"more than travel_near, {near:g} mm")
    return near, far


def _brackets(
    stage: StageTable, index: int, line: GuidesTable, mat: Mat, ledger: Ledger
) -> tuple[Bracket, ...]:
    here = f"stages[{index}]"
    if stage.brackets is not None:
        for key in ("clear_width", "centre", "bracket_spacing"):
            if getattr(stage, key) is not None:
                raise InputError(f"{here}.{key}", "brackets as well", "either brackets or this")
        return listed_brackets(stage.brackets, stage.length, f"{here}.brackets", mat)
    if stage.clear_width is None:
        raise InputError(f"{here}.clear_width", "nothing", "the clear width, or brackets")
    if stage.clear_width > mat.width_mm:
        limit = f"at most the mat's width, {mat.width_mm:g} mm"
        raise InputError(f"{here}.clear_width", f"{stage.clear_width:g} mm", limit)
    if stage.bracket_spacing is not None and stage.guides.bracket_spacing is not None:
        raise InputError(f"{here}.bracket_spacing", "given twice", "it once, here or in guides")
    given = _first(stage.bracket_spacing, _given("bracket_spacing", stage, line))
    spacing = ledger.take("guides.bracket_spacing", given, DEFAULTS["guides.bracket_spacing"])
    if stage.length / spacing > MAX_ROWS:
        raise InputError(f"{here}.bracket_spacing", f"{spacing:g} mm", f"at most {MAX_ROWS} gaps")
    centre = stage.centre
    if centre is None:
        centre = mat.width_mm / 2.0
        ledger.note(f"{here}.centre", f"{centre:g} mm", "the middle of the mat")
    brackets = even_brackets(stage.length, spacing, stage.clear_width, centre)
    if brackets[0].left_mm < 0.0 or brackets[0].right_mm > mat.width_mm:
        half = stage.clear_width / 2.0
        limit = f"{half:g} to {mat.width_mm - half:g} mm, so that both guides stand on the mat"
        raise InputError(f"{here}.centre", f"{centre:g} mm", limit)
    return brackets


def listed_brackets(
    rows: list[BracketTable], length: float, here: str, mat: Mat
) -> tuple[Bracket, ...]:
    """Return brackets listed one by one, each on the mat and in the stage."""
    for i, row in enumerate(rows):
        at = f"{here}[{i}]"
        if row.station > length:
            limit = f"a place in the stage, 0 to {length:g} mm"
            raise InputError(f"{at}.station", f"{row.station:g} mm", limit)
        if i and row.station <= rows[i - 1].station:
            limit = f"more than the one before, {rows[i - 1].station:g} mm"
            raise InputError(f"{at}.station", f"{row.station:g} mm", limit)
        if row.right <= row.left:
            raise InputError(f"{at}.right", f"{row.right:g} mm", f"more than left, {row.left:g} mm")
        if row.left < 0.0:
            raise InputError(f"{at}.left", f"{row.left:g} mm", "a place on the mat, 0 mm or more")
        if row.right > mat.width_mm:
            limit = f"a place on the mat, up to its width {mat.width_mm:g} mm"
            raise InputError(f"{at}.right", f"{row.right:g} mm", limit)
    return tuple(Bracket(row.station, row.left, row.right) for row in rows)
