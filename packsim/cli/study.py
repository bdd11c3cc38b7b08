"""``packsim study``: the main job."""

from __future__ import annotations

from packsim.cli.options import FittedPath, JsonPath, Replace, ScenarioPath, Units, UnitsOption

__all__ = ["study_command"]


def study_command(
    scenario: ScenarioPath,
    units: UnitsOption = Units.metric,
    fitted: FittedPath = None,
    json_path: JsonPath = None,
    replace: Replace = False,
) -> None:
    """Answer a scenario: fit, slack, tipping, guide window, nozzles and flow at every stage."""
    from packsim.cli.out import check_output, emit_json, print_to_terminal, progress_bar
    from packsim.report.terminal.study_table import study_report
    from packsim.report.words.display import Display
    from packsim.scenario import load_scenario
    from packsim.study import study_json, study_line

    check_output(json_path, replace=replace)
    case = load_scenario(scenario, fitted=fitted)
    with progress_bar("studying") as tick:
        found = study_line(case, tick)
    if json_path is not None:
        emit_json(study_json(found), json_path, replace=replace)
    if json_path != "-":
        print_to_terminal(study_report(found, Display(units.value)))
