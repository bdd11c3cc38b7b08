"""Reading what stands behind an option: a quantity with its unit, places for output."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from packsim.errors import InputError

if TYPE_CHECKING:
    from packsim.scenario.quantities import Kind

__all__ = ["check_outputs", "read_option", "read_width"]


def read_option(option: str, text: str, kind: Kind) -> float:
    """Return the quantity an option was given, in the units inside."""
    from packsim.scenario.quantities import Refused, read_quantity

    try:
        return read_quantity(text, kind)
    except Refused as refused:
        raise InputError(option, repr(text), str(refused)) from None


def check_outputs(paths: Sequence[str | None], *, replace: bool) -> None:
    """Refuse output places that must not be written, or that two outputs share."""
    from packsim.cli.out import check_output

    given = [path for path in paths if path is not None]
    for path in given:
        if given.count(path) > 1:
            raise InputError("output", path, "a different place for each output")
        check_output(path, replace=replace)


def read_width(option: str, text: str) -> float:
    """Return a clear width an option was given [mm]."""
    from packsim.scenario.kinds import LENGTH

    return read_option(option, text, LENGTH)
