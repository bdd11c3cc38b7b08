"""Settings on record: from their tables to `KnownSetting`."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from itertools import pairwise

from packsim.errors import InputError
from packsim.line import Bracket, KnownSetting, Mat
from packsim.scenario.defaults import Ledger
from packsim.scenario.guides import listed_brackets
from packsim.scenario.stage_tables import SettingTable, StageTable

__all__ = ["build_settings"]


def build_settings(
    stage: StageTable,
    index: int,
    brackets: Sequence[Bracket],
    sizes: Collection[str],
    mat: Mat,
    ledger: Ledger,
) -> tuple[KnownSetting, ...]:
    """Return the settings on record of one stage; complaints carry the key path from the top."""
    built: list[KnownSetting] = []
    for j, row in enumerate(stage.settings):
        here = f"stages[{index}].settings[{j}]"
        if row.size not in sizes:
            raise InputError(f"{here}.size", row.size, "one of the sizes: " + ", ".join(sizes))
        if any(other.size == row.size for other in built):
            raise InputError(f"{here}.size", row.size, "a size not on record before")
        heights = _heights(row, here)
        stood = _brackets(row, stage.length, here, brackets, mat, ledger)
        built.append(KnownSetting(row.size, stood, heights, row.hold_down))
    return tuple(built)


def _heights(row: SettingTable, here: str) -> tuple[float, ...] | None:
    if row.wire_heights is None:
        return None
    if any(b <= a for a, b in pairwise(row.wire_heights)):
        shown = ", ".join(f"{height:g}" for height in row.wire_heights)
        raise InputError(f"{here}.wire_heights", f"{shown} mm", "heights rising from the mat")
    return tuple(row.wire_heights)


def _brackets(
    row: SettingTable,
    length_mm: float,
    here: str,
    now: Sequence[Bracket],
    mat: Mat,
    ledger: Ledger,
) -> tuple[Bracket, ...]:
    if row.brackets is not None:
        for key in ("clear_width", "centre"):
            if getattr(row, key) is not None:
                raise InputError(f"{here}.{key}", "brackets as well", "either brackets or this")
        rows = listed_brackets(row.brackets, length_mm, f"{here}.brackets", mat)
        stations = [bracket.station_mm for bracket in now]
        if [bracket.station_mm for bracket in rows] != stations:
            shown = ", ".join(f"{station:g}" for station in stations)
            limit = f"the stations of the stage's brackets, {shown} mm"
            raise InputError(f"{here}.brackets", "other stations", limit)
        return rows
    if row.clear_width is None:
        raise InputError(f"{here}.clear_width", "nothing", "the clear width, or brackets")
    centre = row.centre
    if centre is None:
        centre = mat.width_mm / 2.0
        ledger.note(f"{here}.centre", f"{centre:g} mm", "the middle of the mat")
    left, right = centre - row.clear_width / 2.0, centre + row.clear_width / 2.0
    if left < 0.0 or right > mat.width_mm:
        limit = f"both guides on the mat, {mat.width_mm:g} mm wide"
        raise InputError(f"{here}.clear_width", f"{row.clear_width:g} mm", limit)
    return tuple(Bracket(bracket.station_mm, left, right) for bracket in now)
