"""The templates of this room: everything put into one is escaped."""

from typing import Any

from packsim.report.words.numbers import printable


def environment() -> Any:
    """Return the jinja2 environment, which is loaded when first asked for."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    return Environment(
        loader=PackageLoader("packsim.report.page", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )


def cleaned(value: Any) -> Any:
    """Turn control characters in every text of a nest of texts into spaces; HTML may hold none."""
    if isinstance(value, str):
        return printable(value)
    if isinstance(value, dict):
        return {key: cleaned(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [cleaned(item) for item in value]
    return value
