"""From the guide tables to `Guides` and to settings on record: where brackets stand."""

from collections.abc import Sequence
from itertools import pairwise

from packsim.errors import InputError
from packsim.line import Bracket, Guides, KnownSetting, Mat, Wires
from packsim.line.guides import even_brackets
from packsim.scenario.complaints import WrongUnit
from packsim.scenario.keys import Ledger, keys, plain
from packsim.scenario.known.measured import Measured
from packsim.scenario.line_tables import FUNNEL_MM, MAX_ROWS, GuidesTable, SizeTable
from packsim.scenario.stage_tables import BracketTable, SettingTable, StageTable


def build_guides(
    stage: StageTable, here: str, line: GuidesTable, mat: Mat, ledger: Ledger
) -> Guides:
    """Return the guides of one stage: its own values over those of the line over assumed ones."""
    fields = ledger.take(stage.guides, "guides", behind=line)
    wires = fields.pop("wires")
    key = wire_heights_key(stage, here)
    if "heights_mm" not in wires:
        raise InputError(key, "nothing", "the wires' heights above the mat, lowest first")
    _check_rising(key, wires["heights_mm"])
    if "travel_mm" in fields:
        fields["travel_mm"] = _travel(fields["travel_mm"], stage, here)
    brackets = _brackets(stage, here, line, mat, ledger)
    if "shape" not in fields and looks_a_funnel(brackets):
        fields["shape"] = "funnel"
        why = "the brackets narrow or widen steadily; if they should not, say straight"
        ledger.note(f"{here}.guides.shape", "funnel", keys(GuidesTable)["shape"], why)
    return Guides(brackets, Wires(**wires), **fields)


def build_settings(
    stage: StageTable,
    here: str,
    guides: Guides,
    sizes: Sequence[SizeTable],
    mat: Mat,
    ledger: Ledger,
) -> tuple[KnownSetting, ...]:
    """Return the settings on record of a stage; ``guides`` are its own as they stand now."""
    names = [size.name for size in sizes]
    built: list[KnownSetting] = []
    for j, row in enumerate(stage.settings):
        at = f"{here}.settings[{j}]"
        with ledger.complaining():
            if row.size not in names:
                raise InputError(f"{at}.size", row.size, "one of the sizes: " + ", ".join(names))
            if any(other.size == row.size for other in built):
                raise InputError(f"{at}.size", row.size, "a size not on record before")
            _check_rising(f"{at}.wire_heights", row.wire_heights or ())
            stood = _stood(row, stage.length, at, guides, mat, ledger)
            built.append(KnownSetting(brackets=stood, **ledger.take(row, at)))
    return tuple(built)


def wire_heights_key(stage: StageTable, here: str) -> str:
    """Return the key path under which a stage's wire heights stand."""
    return f"{here}.guides.wire_heights" if stage.guides.wire_heights else "guides.wire_heights"


def _check_rising(key: str, heights: Sequence[float]) -> None:
    if any(b <= a for a, b in pairwise(heights)):
        shown = ", ".join(f"{height:g}" for height in heights)
        raise InputError(key, f"{shown} mm", "heights rising from the mat")


def _travel(ends: dict[str, float], stage: StageTable, here: str) -> tuple[float, float]:
    own = stage.guides.bracket_min is not None or stage.guides.bracket_max is not None
    key = f"{here}.guides" if own else "guides"
    if len(ends) < 2:
        lost = "bracket_max" if "0" in ends else "bracket_min"
        raise InputError(f"{key}.{lost}", "nothing", "both bracket_min and bracket_max, or neither")
    low, high = ends["0"], ends["1"]
    if low >= high:
        raise InputError(f"{key}.bracket_max", f"{high:g} mm", f"more than bracket_min, {low:g} mm")
    return low, high


def _brackets(
    stage: StageTable, here: str, line: GuidesTable, mat: Mat, ledger: Ledger
) -> tuple[Bracket, ...]:
    if stage.brackets is not None:
        others = ("clear_width", "pack_centre_from_left", "bracket_spacing")
        _check_alone(stage, here, others)
        return _listed(stage.brackets, stage.length, f"{here}.brackets", mat)
    if stage.bracket_spacing is not None and stage.guides.bracket_spacing is not None:
        raise InputError(f"{here}.bracket_spacing", "given twice", "it once, here or in guides")
    spacing: float | None = plain(stage.bracket_spacing)
    if spacing is None:
        spacing = ledger.value(stage.guides, "bracket_spacing", "guides", line)
    if stage.length / spacing > MAX_ROWS:
        raise InputError(f"{here}.bracket_spacing", f"{spacing:g} mm", f"at most {MAX_ROWS} gaps")
    width, centre = _pass(stage, here, mat, ledger)
    return even_brackets(plain(stage.length), spacing, width, centre)


def _check_alone(table: StageTable | SettingTable, here: str, others: Sequence[str]) -> None:
    for key in others:
        if getattr(table, key) is not None:
            raise InputError(f"{here}.{key}", "brackets as well", "either brackets or this")


def _pass(
    table: StageTable | SettingTable, here: str, mat: Mat, ledger: Ledger
) -> tuple[float, float]:
    """Return clear width and centre of a table that gives them, both guides on the mat."""
    width: float | None = plain(table.clear_width)
    if width is None:
        raise InputError(f"{here}.clear_width", "nothing", "the clear width, or brackets")
    if width > mat.width_mm:
        limit = f"at most the mat's width, {mat.width_mm:g} mm"
        key = f"{here}.clear_width"
        likely = {"mat.width": (width, 3.0 * width), key: (0.3 * mat.width_mm, mat.width_mm)}
        raise WrongUnit(key, f"{width:g} mm", limit, likely)
    centre: float | None = plain(table.pack_centre_from_left)
    if centre is None:
        centre = mat.width_mm / 2.0
        why = "the middle of the mat"
        ledger.note(
            f"{here}.pack_centre_from_left", centre, keys(type(table))["pack_centre_from_left"], why
        )
    half = width / 2.0
    if centre - half < 0.0 or centre + half > mat.width_mm:
        limit = f"{half:g} to {mat.width_mm - half:g} mm, so that both guides stand on the mat"
        raise InputError(f"{here}.pack_centre_from_left", f"{centre:g} mm", limit)
    return width, centre


def _listed(
    rows: Sequence[BracketTable], length: float, here: str, mat: Mat
) -> tuple[Bracket, ...]:
    """Return brackets listed one by one, each on the mat and in the stage."""
    last = -1.0
    for i, row in enumerate(rows):
        at, place = f"{here}[{i}]", row.from_stage_start
        key = f"{at}.from_stage_start"
        if place > length:
            raise InputError(key, f"{place:g} mm", f"a place in the stage, 0 to {length:g} mm")
        if place <= last:
            raise InputError(key, f"{place:g} mm", f"more than the one before, {last:g} mm")
        if row.right <= row.left:
            raise InputError(f"{at}.right", f"{row.right:g} mm", f"more than left, {row.left:g} mm")
        if row.left < 0.0:
            raise InputError(f"{at}.left", f"{row.left:g} mm", "a place on the mat, 0 mm or more")
        if row.right > mat.width_mm:
            limit = f"a place on the mat, up to its width {mat.width_mm:g} mm"
            raise InputError(f"{at}.right", f"{row.right:g} mm", limit)
        last = place
    return tuple(
        Bracket(plain(row.from_stage_start), plain(row.left), plain(row.right)) for row in rows
    )


def _stood(
    row: SettingTable, length: float, here: str, now: Guides, mat: Mat, ledger: Ledger
) -> tuple[Bracket, ...]:
    """Return where the brackets stood for a setting on record."""
    if row.brackets is None:
        width, centre = _pass(row, here, mat, ledger)
        return now.set_to(width, centre).brackets
    _check_alone(row, here, ("clear_width", "pack_centre_from_left"))
    for i, one in enumerate(row.brackets):
        for key in ("left", "right"):
            if isinstance(getattr(one, key), Measured):
                limit = "a place without ± or readings: a setting is decided, not measured"
                raise InputError(f"{here}.brackets[{i}].{key}", "a ± or readings", limit)
    rows = _listed(row.brackets, length, f"{here}.brackets", mat)
    places = [bracket.station_mm for bracket in now.brackets]
    if [bracket.station_mm for bracket in rows] != places:
        shown = ", ".join(f"{at:g}" for at in places)
        limit = f"the places of the stage's brackets, {shown} mm"
        raise InputError(f"{here}.brackets", "other places", limit)
    return rows


def looks_a_funnel(brackets: Sequence[Bracket]) -> bool:
    """Whether three brackets or more narrow, or widen, steadily by more than `FUNNEL_MM`.

    Neither face may turn back, and no bracket may repeat the one before but at the narrow end,
    where a funnel may run out into a straight part.

    Examples
    --------
    >>> looks_a_funnel([Bracket(0.0, 0.0, 1397.0), Bracket(500.0, 9.5, 1378.0),
    ...                 Bracket(1000.0, 19.0, 1359.0)])
    True
    """
    widths = [bracket.clear_width_mm for bracket in brackets]
    if widths[0] < widths[-1]:
        brackets, widths = brackets[::-1], widths[::-1]
    inwards = all(
        b.left_mm >= a.left_mm and b.right_mm <= a.right_mm for a, b in pairwise(brackets)
    )
    narrowing = [width for width in widths if width > widths[-1]]
    steady = all(b < a for a, b in pairwise(narrowing))
    enough = widths[0] - widths[-1] > FUNNEL_MM and len(narrowing) >= 2
    return inwards and steady and enough
