"""From a catalogue size, or only a diameter and a height, to a `Can` that says what it assumed."""

from dataclasses import dataclass, field, fields
from typing import Final

from packsim.can import Can
from packsim.catalogue.body import (
    BaseShape,
    Gauges,
    Metal,
    base_rule,
    base_shape,
    body_model,
    metal,
)
from packsim.catalogue.rows import Marked, SizeRow, catalogue_sizes, no_such, size_row
from packsim.errors import Assumption, InputError, finite, readable

_NUMBERS: Final = tuple(f.name for f in fields(Can) if f.name not in ("name", "assumed"))

_KEYS: Final = {
    "diameter_mm": ("diameter", "mm", 1.0),
    "height_mm": ("height", "mm", 1.0),
    "diameter_tol_mm": ("diameter_tol", "mm", 1.0),
    "mass_kg": ("mass", "g", 1e3),
    "cg_mm": ("cg_height", "mm", 1.0),
    "dome_depth_mm": ("dome_depth", "mm", 1.0),
    "dome_rim_radius_mm": ("dome_rim_radius", "mm", 1.0),
    "expansion_per_K": ("expansion", "1/K", 1.0),
    "specific_heat_J_per_kgK": ("specific_heat", "J/(kg K)", 1.0),
}
"""How an assumption names a field of `Can`, and the unit and factor it shows it with."""


def can_size(
    size_id: str,
    /,
    *,
    name: str | None = None,
    metal: str = "aluminium",
    gauges: Gauges | None = None,
    **given: float | None,
) -> Can:
    """Return a catalogue size as a can, with any value of your own in place of the row's.

    Parameters
    ----------
    size_id : str
        Catalogue id, e.g. ``"us_12oz_std"``.
    name : str, optional
        Your name for it; the id when omitted.
    metal : {"aluminium", "steel"}
        What it is made of.
    gauges : Gauges, optional
        Its thicknesses; the metal's usual ones when omitted.
    **given : float, optional
        Your own values, by field name of `Can`: ``diameter_mm``, ``height_mm``, ``mass_kg``,
        ``cg_mm``, ``dome_depth_mm`` and so on. None counts as not given.

    Returns
    -------
    Can
        The can; ``assumed`` lists every value that was neither given nor read in a source.

    Raises
    ------
    InputError
        If the id, the metal or a field is unknown, or a value impossible.

    Notes
    -----
    Mass and centre of gravity follow from size, dome and gauges (`body_model`) unless given.

    Examples
    --------
    >>> can_size("us_12oz_std").mass_kg
    0.01018
    >>> [a.key for a in can_size("us_12oz_std", mass_kg=0.0105).assumed][:2]
    ['sizes[us_12oz_std].height', 'sizes[us_12oz_std].cg_height']
    """
    draft = _draft(size_id if name is None else name, given)
    _take_row(draft, size_row(size_id))
    return _finished(draft, metal, gauges)


def custom_can(
    name: str,
    diameter_mm: float,
    height_mm: float,
    *,
    metal: str = "aluminium",
    gauges: Gauges | None = None,
    **given: float | None,
) -> Can:
    """Return a can of your own; a diameter and a height are enough.

    Parameters
    ----------
    name : str
        Your name for it.
    diameter_mm, height_mm : float
        Outside diameter and trimmed height of the body [mm].
    metal : {"aluminium", "steel"}
        What it is made of.
    gauges : Gauges, optional
        Its thicknesses; the metal's usual ones when omitted.
    **given : float, optional
        Further values of your own, by field name of `Can`. None counts as not given.

    Returns
    -------
    Can
        The can; ``assumed`` lists every value that was neither given nor read in a source.

    Raises
    ------
    InputError
        If the metal or a field is unknown, or a value impossible.

    Examples
    --------
    >>> can = custom_can("house can", 66.1, 130.0)
    >>> [a.key for a in can.assumed][:2]
    ['sizes[house can].diameter_tol', 'sizes[house can].mass']
    """
    given = {"diameter_mm": diameter_mm, "height_mm": height_mm, **given}
    return _finished(_draft(name, given), metal, gauges)


@dataclass(slots=True)
class _Draft:
    """Values gathered so far, and why those that are assumed are what they are."""

    name: str
    values: dict[str, float]
    why: dict[str, str] = field(default_factory=dict)

    def take(self, key: str, marked: Marked) -> None:
        if key not in self.values:
            self.values[key] = marked.value
            if not marked.measured:
                self.why[key] = marked.reason
                if marked.low is not None:
                    self.why[key] += f" (mm); judged at {marked.value:g} mm alone: measure yours"

    def assume(self, key: str, value: float, why: str) -> None:
        if key not in self.values:
            self.values[key] = value
            self.why[key] = why


def _draft(name: str, given: dict[str, float | None]) -> _Draft:
    if not isinstance(name, str) or not name.strip():
        raise InputError("name", repr(name), "a name")
    for key in given:
        if key not in _NUMBERS:
            raise no_such("field", key, list(_NUMBERS))
    return _Draft(name, {k: finite(k, v) for k, v in given.items() if v is not None})


def _take_row(draft: _Draft, row: SizeRow) -> None:
    draft.take("diameter_mm", row.diameter_mm)
    draft.take("diameter_tol_mm", row.diameter_tol_mm)
    draft.take("height_mm", row.trimmed_height_mm)
    if row.dome_depth_mm is not None:
        draft.take("dome_depth_mm", row.dome_depth_mm)
    if row.dome_rim_radius_mm is not None:
        draft.take("dome_rim_radius_mm", row.dome_rim_radius_mm)


def _finished(draft: _Draft, metal_id: str, gauges: Gauges | None) -> Can:
    stuff = metal(metal_id)
    for key in ("diameter_mm", "height_mm"):
        if key not in draft.values:
            raise InputError(key, None, "a length above 0 mm")
    base = base_shape(draft.values["diameter_mm"])
    tolerance = catalogue_sizes()[0].diameter_tol_mm.value
    draft.assume("diameter_tol_mm", tolerance, "the published one of the 12 oz body, not this one")
    _assume_dome(draft, base)
    draft.take("expansion_per_K", stuff.expansion_per_K)
    draft.take("specific_heat_J_per_kgK", stuff.specific_heat_J_per_kgK)
    _assume_body(draft, base, stuff, gauges)
    return Can(name=draft.name, assumed=_assumptions(draft), **draft.values)


def _assume_dome(draft: _Draft, base: BaseShape) -> None:
    rule = base_rule()
    for key, value in (
        ("dome_depth_mm", base.dome_depth_mm),
        ("dome_rim_radius_mm", base.dome_rim_radius_mm),
    ):
        why = f"211 base {rule[key].value:g} mm, {rule[key].reason}; scaled with the diameter"
        draft.assume(key, value, why)


@dataclass(frozen=True, slots=True)
class ListedSize:
    """A row of the catalogue with what is computed from it.

    Parameters
    ----------
    row : SizeRow
        The row.
    mass_kg, cg_mm : float
        Mass of the body [kg] and height of its centre of gravity [mm], computed.
    """

    row: SizeRow
    mass_kg: float
    cg_mm: float


def listed_sizes() -> tuple[ListedSize, ...]:
    """Return every row of the catalogue with its computed mass and centre of gravity."""
    cans = [(row, can_size(row.id)) for row in catalogue_sizes()]
    return tuple(ListedSize(row, can.mass_kg, can.cg_mm) for row, can in cans)


def _assume_body(draft: _Draft, base: BaseShape, stuff: Metal, gauges: Gauges | None) -> None:
    if "mass_kg" in draft.values and "cg_mm" in draft.values:
        return
    used = stuff.gauges if gauges is None else gauges
    mass, cg = body_model(
        draft.values["diameter_mm"],
        draft.values["height_mm"],
        used,
        draft.values["dome_depth_mm"],
        draft.values["dome_rim_radius_mm"],
        base.bead_radius_mm,
        base.base_height_mm,
    )
    whose = "usual" if gauges is None else "given"
    why = (
        f"body model with {whose} gauges: {stuff.id} base {used.base_mm:g} mm, wall "
        f"{used.thin_wall_mm:g} mm, {used.thick_wall_mm:g} mm over {used.thick_length_mm:g} mm"
    )
    draft.assume("mass_kg", mass, f"{why}; weigh a few bodies instead")
    draft.assume("cg_mm", cg, why)


def _assumptions(draft: _Draft) -> tuple[Assumption, ...]:
    made = []
    for key, (word, unit, factor) in _KEYS.items():
        if key in draft.why:
            name, number = f"sizes[{draft.name}].{word}", draft.values[key] * factor
            value = readable(number, unit, digits=4)
            made.append(Assumption(name, value, draft.why[key], number, unit))
    return tuple(made)
