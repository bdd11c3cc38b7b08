"""``packsim sizes``: the catalogue with its sources."""

from __future__ import annotations

from packsim.cli.options import JsonPath, Replace, Units, UnitsOption

__all__ = ["sizes_command"]


def sizes_command(
    units: UnitsOption = Units.metric, json_path: JsonPath = None, replace: Replace = False
) -> None:
    """List the can sizes the catalogue knows, with the source and mark of every value."""
    from packsim.catalogue import catalogue_sizes
    from packsim.cli.out import emit_json, print_to_terminal
    from packsim.report.terminal.sizes_table import sizes_json, sizes_table
    from packsim.report.words.display import Display

    rows = catalogue_sizes()
    if json_path is not None:
        emit_json(sizes_json(rows), json_path, replace=replace)
    if json_path != "-":
        print_to_terminal(sizes_table(rows, Display(units.value)))
