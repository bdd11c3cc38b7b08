"""``packsim why``: the calculation behind the answers about one stage and size."""

from __future__ import annotations

from packsim.cli.options import (
    FittedPath,
    JsonPath,
    Replace,
    ScenarioPath,
    SizeName,
    StageName,
    Units,
    UnitsOption,
)

__all__ = ["why_command"]


def why_command(
    scenario: ScenarioPath,
    stage: StageName = None,
    size: SizeName = None,
    units: UnitsOption = Units.metric,
    fitted: FittedPath = None,
    json: JsonPath = None,
    replace: Replace = False,
) -> None:
    """Show the calculation, line by line, for one stage and size: width, wires, slack, tipping."""
    from packsim.cli.outputs import Outputs
    from packsim.report.terminal.why_table import why_report
    from packsim.report.words.display import Display
    from packsim.scenario import load_scenario
    from packsim.sweep import stage_and_size
    from packsim.why import reasons, reasons_json

    outputs = Outputs(replace, json=json)
    case = load_scenario(scenario, fitted=fitted)
    found = reasons(case, *stage_and_size(case, stage, size))
    outputs.deliver(lambda: why_report(found, Display(units)), json=lambda: reasons_json(found))
