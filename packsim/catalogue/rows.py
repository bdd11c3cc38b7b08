"""The rows of ``sizes.toml`` as frozen nouns: each value has a mark, each row its source."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from typing import Any, Final

from packsim.errors import InputError, finite, one_of

MARKS: Final = ("read", "computed", "memory")
"""``read`` in the source, ``computed`` from other numbers, or from ``memory``."""


@dataclass(frozen=True, slots=True)
class Marked:
    """One number and how it is known.

    Parameters
    ----------
    value : float
        The number, in the unit of the field that holds it.
    mark : {"read", "computed", "memory"}
        How it is known.
    low, high : float or None
        Range it may lie in, where one is known; same unit.
    why : str
        What it was computed from, or what speaks for it.
    """

    value: float
    mark: str
    low: float | None = None
    high: float | None = None
    why: str = ""

    def __post_init__(self) -> None:
        finite("value", self.value)
        one_of("mark", self.mark, MARKS)
        low = self.value if self.low is None else self.low
        high = self.value if self.high is None else self.high
        if not low <= self.value <= high:
            raise InputError("value", self.value, f"a value from {low} to {high}")

    @property
    def measured(self) -> bool:
        """Whether the number was read in a source, so that nothing is assumed."""
        return self.mark == "read"

    @property
    def reason(self) -> str:
        """How it is known, in words for an assumption."""
        span = "" if self.low is None else f", may be {self.low:g} to {self.high:g}"
        known = "from memory" if self.mark == "memory" else self.mark
        return f"{known}{span}" + (f": {self.why}" if self.why else "")


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
    rows = load_table("sizes.toml")["size"]
    return tuple(SizeRow(**{k: as_marked(v) for k, v in row.items()}) for row in rows)


def size_row(size_id: str) -> SizeRow:
    """Return the row of one catalogue id; `InputError` names the closest ids and all there are."""
    for row in catalogue_sizes():
        if row.id == size_id:
            return row
    raise no_such("catalogue", size_id, [row.id for row in catalogue_sizes()])


def no_such(key: str, got: object, known: list[str]) -> InputError:
    """Return the complaint about a name that is not one of ``known``, closest first."""
    close = get_close_matches(str(got), known, n=3, cutoff=0.4)
    hint = f"{' or '.join(close)} perhaps; " if close else ""
    return InputError(key, repr(got), f"{hint}one of {', '.join(known)}")


def load_table(name: str) -> Mapping[str, Any]:
    """Return one of this package's TOML tables, parsed."""
    text = files("packsim.catalogue").joinpath(name).read_text(encoding="utf-8")
    return tomllib.loads(text)


def as_marked(value: Any) -> Any:
    """Return a table with a mark as `Marked`, anything else as it is."""
    return Marked(**value) if isinstance(value, dict) and "mark" in value else value
