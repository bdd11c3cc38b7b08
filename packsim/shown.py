"""How nouns of the lower floors show themselves in a notebook without knowing the upper ones.

A notebook asks an object for ``_repr_svg_`` or ``_repr_html_``, so the object must have the method;
what draws it lives in `packsim.report`, far above. The method names its painter here and the room
is loaded by name when it is asked for, never when the noun is imported: importing stays cheap, and
nothing below depends on what is above to work.
"""

from __future__ import annotations

from importlib import import_module

__all__ = ["shown_by"]


def shown_by(painter: str, thing: object) -> str:
    """Return how a painter of `packsim.report.page.notebook` shows a thing.

    Parameters
    ----------
    painter : str
        Name of a function there that takes the thing and returns SVG or HTML.
    thing : object
        What to show.

    Returns
    -------
    str
        SVG or HTML.
    """
    text: str = getattr(import_module("packsim.report.page.notebook"), painter)(thing)
    return text
