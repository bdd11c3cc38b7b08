"""``packsim sizes``: the catalogue with its sources."""

from __future__ import annotations

from packsim.cli.options import JsonPath, Replace, Units, UnitsOption

__all__ = ["sizes_command"]


def sizes_command(
    units: UnitsOption = Units.metric, json: JsonPath = None, replace: Replace = False
) -> None:
    """List the can sizes of the catalogue, and where each number comes from."""
    from packsim.catalogue import catalogue_sizes
    from packsim.cli.outputs import Outputs
    from packsim.report.terminal.sizes_table import sizes_json, sizes_table
    from packsim.report.words.display import Display

    rows = catalogue_sizes()
    outputs = Outputs(replace, json=json)
    outputs.deliver(lambda: sizes_table(rows, Display(units)), json=lambda: sizes_json(rows))
