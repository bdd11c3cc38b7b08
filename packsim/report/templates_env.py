"""The templates of this room: everything put into one is escaped."""

from __future__ import annotations

from typing import Any

__all__ = ["environment"]


def environment() -> Any:
    """Return the jinja2 environment, which is loaded when first asked for."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    return Environment(
        loader=PackageLoader("packsim.report", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
