"""A number nobody measured here, carried along so that every output resting on it can say so."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Assumption"]


@dataclass(frozen=True, slots=True)
class Assumption:
    """One assumed value.

    Parameters
    ----------
    key : str
        What is assumed, e.g. ``stages[0].kicks.energy``.
    value : str
        The value with its unit, as a person would write it.
    why : str
        Where it comes from, or that it comes from nowhere yet.
    """

    key: str
    value: str
    why: str

    def __str__(self) -> str:
        return f"{self.key} = {self.value} (assumed: {self.why})"
