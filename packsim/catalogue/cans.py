"""From a catalogue size, or only a diameter and a height, to a `Can` that says what it assumed."""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import cache
from typing import Final

from packsim.can import Can
from packsim.catalogue import body
from packsim.catalogue.body import Gauges, Marked, no_such
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


@dataclass(frozen=True, slots=True)
class SizeRow:
    """One catalogue size.

    Parameters
    ----------
    id : str
        What `packsim.catalogue.can_size` takes.
    label : str
        What people call it.
    body_class, end : str
        Trade names of the body and of the end; names, not dimensions.
    capacity_ml : float
        Nominal content [ml].
    diameter_mm, diameter_tol_mm : Marked
        Outside diameter of the body and its plus/minus tolerance [mm].
    finished_height_mm, finished_height_tol_mm : Marked
        Height of the finished, necked can and its plus/minus tolerance [mm].
    trimmed_height_mm : Marked
        Height of the trimmed, un-necked body [mm].
    grade : {"A", "C", "-"}
        A standard, patent or association; C web page; - no source.
    source, note : str
        Where the read values come from, and what to know about the row.
    dome_depth_mm, dome_rim_radius_mm : Marked or None
        Dome recess where it is known for this size [mm].
    """

    id: str
    label: str
    body_class: str
    end: str
    capacity_ml: float
    diameter_mm: Marked
    diameter_tol_mm: Marked
    finished_height_mm: Marked
    finished_height_tol_mm: Marked
    trimmed_height_mm: Marked
    grade: str
    source: str
    note: str
    dome_depth_mm: Marked | None = None
    dome_rim_radius_mm: Marked | None = None


@cache
def catalogue_sizes() -> tuple[SizeRow, ...]:
    """Return every catalogue size, in the order of the table.

    Returns
    -------
    tuple of SizeRow
        Frozen rows with source and marks.

    Examples
    --------
    >>> row = catalogue_sizes()[0]
    >>> row.id, row.diameter_mm.value, row.diameter_mm.mark
    ('us_12oz_std', 66.09, 'read')
    """
    rows = body.load_table("sizes.toml")["size"]
    return tuple(SizeRow(**{k: body.as_marked(v) for k, v in row.items()}) for row in rows)


def size_row(size_id: str) -> SizeRow:
    """Return the row of one catalogue id; `InputError` names the closest ids and all there are."""
    for row in catalogue_sizes():
        if row.id == size_id:
            return row
    raise no_such("catalogue", size_id, [row.id for row in catalogue_sizes()])


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
    known = listed_values(size_id, metal)
    return _can(size_id if name is None else name, given, known, metal, gauges)


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
    size = {"diameter_mm": diameter_mm, "height_mm": height_mm}
    return _can(name, size | given, listed_values(None, metal), metal, gauges)


def listed_values(size_id: str | None, metal: str) -> dict[str, Marked]:
    """Return what the tables say of a can, by field of `Can`: of the metal alone without an id.

    Raises `InputError` if the id or the metal is unknown.
    """
    stuff = body.metal(metal)
    found = {key: stuff[key] for key in ("expansion_per_K", "specific_heat_J_per_kgK")}
    if size_id is None:
        return found
    row = size_row(size_id)
    found |= {key: marked for key in _NUMBERS if (marked := getattr(row, key, None)) is not None}
    return found | {"height_mm": row.trimmed_height_mm}


def _can(
    name: str,
    given: Mapping[str, float | None],
    known: Mapping[str, Marked],
    metal: str,
    gauges: Gauges | None,
) -> Can:
    """Return a can: what is given, else what the row has, else what is assumed, and why."""
    values, why = _checked(name, given), dict[str, str]()

    def assume(key: str, value: float, reason: str) -> None:
        if key not in values:
            values[key], why[key] = value, reason

    for key, marked in known.items():
        if marked.measured:
            values.setdefault(key, marked.value)
        judged = f" (mm); judged at {marked.value:g} mm alone: measure yours"
        assume(key, marked.value, marked.reason + judged * (marked.low is not None))
    for key in sorted({"diameter_mm", "height_mm"} - values.keys()):
        raise InputError(key, None, "a length above 0 mm")
    tolerance = catalogue_sizes()[0].diameter_tol_mm.value
    assume("diameter_tol_mm", tolerance, "the published one of the 12 oz body, not this one")
    base = body.base_shape(values["diameter_mm"])
    for key in ("dome_depth_mm", "dome_rim_radius_mm"):
        rule = body.base_rule()[key]
        reason = f"211 base {rule.value:g} mm, {rule.reason}; scaled with the diameter"
        assume(key, base[key], reason)
    if not {"mass_kg", "cg_mm"} <= values.keys():
        used = body.usual_gauges(metal) if gauges is None else gauges
        shape = {key: values.get(key, length_mm) for key, length_mm in base.items()}
        mass, cg = body.body_model(values["diameter_mm"], values["height_mm"], used, **shape)
        model = f"body model with {'usual' if gauges is None else 'given'} gauges: {metal} {used}"
        assume("mass_kg", mass, f"{model}; weigh a few bodies instead")
        assume("cg_mm", cg, model)
    assumed = (_assumption(name, key, values[key], why[key]) for key in _KEYS if key in why)
    return Can(name=name, assumed=tuple(assumed), **values)


def _checked(name: str, given: Mapping[str, float | None]) -> dict[str, float]:
    """Return the values given, or refuse the name or one of them."""
    if not isinstance(name, str) or not name.strip():
        raise InputError("name", repr(name), "a name")
    for key in given:
        if key not in _NUMBERS:
            raise no_such("field", key, list(_NUMBERS))
    return {key: finite(key, value) for key, value in given.items() if value is not None}


def _assumption(name: str, key: str, value: float, why: str) -> Assumption:
    word, unit, factor = _KEYS[key]
    shown = readable(value * factor, unit, digits=4)
    return Assumption(f"sizes[{name}].{word}", shown, why, value * factor, unit)
