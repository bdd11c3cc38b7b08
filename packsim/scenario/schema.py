"""Rewrite the schema file that editors use: ``python -m packsim.scenario.schema``."""

from __future__ import annotations

import sys
from pathlib import Path

from packsim.scenario.layout import schema_text

__all__ = ["main"]


def main(folder: Path | None = None) -> int:
    """Write shared/scenario.schema.json below a folder, and return 0.

    Parameters
    ----------
    folder : Path, optional
        The checkout; the current folder when omitted.

    Returns
    -------
    int
        Exit status, for the shell.
    """
    place = (folder or Path.cwd()) / "shared" / "scenario.schema.json"
    place.write_text(schema_text(), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
