"""The form a trial is recorded on: a sheet for the computer, a page for the clipboard."""

from packsim.report.files.csv_tables import trials_csv
from packsim.report.page.page_parts import rendered
from packsim.report.terminal.trial_plan_table import cans_needed, setting_rate
from packsim.report.words.display import Display
from packsim.trial.trial_plan import Setting, TrialPlan


def form_csv(plan: TrialPlan, display: Display) -> str:
    """Return the recording form as a sheet with the settings filled in.

    Returns
    -------
    str
        One line for each setting and stage. Dates, cans and counts are to be filled in; settings
        that were not run are to be deleted. Then it is a trial file.
    """
    rows = []
    for setting in plan.settings:
        name = f"{setting.name} {setting.why}"
        for room, width in zip(plan.stages, setting.widths_mm, strict=True):
            known = {"trial": name, "size": plan.size, "stage": room.stage}
            rows.append(known | {"clear_width": display.in_file(width)})
    return trials_csv(rows)


def form_html(plan: TrialPlan, display: Display) -> str:
    """Return the recording form as one printable page."""
    return rendered(
        "trial_form.html",
        display,
        plan=plan,
        cans=cans_needed(plan),
        settings=[(one, setting_rate(one), _rows(plan, one, display)) for one in plan.settings],
    )


def _rows(plan: TrialPlan, setting: Setting, display: Display) -> list[tuple[str, str, str, bool]]:
    """Return stage, width, move and whether it is past the safe slack, of every stage."""
    rows = []
    for room, width in zip(plan.stages, setting.widths_mm, strict=True):
        move = width - room.now_mm
        way = "open" if move > 0.0 else "close"
        step = f"{way} {display.setting(abs(move), unit=False)}"
        step = "leave" if abs(move) < 0.005 else step
        past = width > room.last_safe_mm
        rows.append((room.stage, display.setting(width, unit=False), step, past))
    return rows
