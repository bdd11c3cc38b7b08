"""``packsim study``: every size at every stage."""

from __future__ import annotations

from packsim.cli.options import (
    FittedPath,
    JsonPath,
    Replace,
    ScenarioPath,
    SizeNames,
    StageNames,
    Units,
    UnitsOption,
)

__all__ = ["study_command"]


def study_command(
    scenario: ScenarioPath,
    stage: StageNames = None,
    size: SizeNames = None,
    units: UnitsOption = Units.metric,
    fitted: FittedPath = None,
    json: JsonPath = None,
    replace: Replace = False,
) -> None:
    """Check every size at every stage: fit, slack, tipping, guide setting, nozzles, rate."""
    from packsim.cli.outputs import Outputs, progress_bar
    from packsim.report.terminal.study_table import study_report
    from packsim.report.words.display import Display
    from packsim.scenario import load_scenario
    from packsim.study import study_json, study_line

    outputs = Outputs(replace, json=json)
    case = load_scenario(scenario, fitted=fitted)
    with progress_bar("studying") as tick:
        found = study_line(case, tick, stages=stage or (), sizes=size or ())
    outputs.deliver(lambda: study_report(found, Display(units)), json=lambda: study_json(found))
