"""What a header sprays, liquid or gas: they are told apart everywhere and never added."""

from collections.abc import Iterable
from typing import Final

from packsim.line import Header
from packsim.spray.jets import flow_L_per_min

MEDIA: Final = ("liquid", "gas")
"""What a header may spray."""

GAS_BELOW_KG_PER_MM3: Final = 1e-7
"""What is lighter than this, 100 kg/m³, is a gas: no liquid is, and no gas at a header's pressure
reaches it."""


def medium_of(header: Header) -> str:
    """Return whether a header sprays a ``liquid`` or a ``gas``."""
    return "gas" if header.liquid_kg_per_mm3 < GAS_BELOW_KG_PER_MM3 else "liquid"


def flow_of_L_per_min(headers: Iterable[Header], medium: str) -> float | None:
    """Return the flow of the headers that spray a medium.

    Parameters
    ----------
    headers : iterable of Header
        Those the cans pass.
    medium : {"liquid", "gas"}
        The medium.

    Returns
    -------
    float or None
        Flow of all of them; None where none sprays it [L/min].
    """
    flows = [flow_L_per_min(header) for header in headers if medium_of(header) == medium]
    return sum(flows) if flows else None


def counted(headers: Iterable[Header]) -> list[Header]:
    """Return the headers whose doses count: those of a liquid, all where only gas is sprayed."""
    every = list(headers)
    return [header for header in every if medium_of(header) == "liquid"] or every
