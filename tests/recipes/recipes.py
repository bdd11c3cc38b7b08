"""The recipes of DEVELOPERS.md, each as the edits a person makes who follows it.

An edit is a file, an anchor that stands in it once, and the text put before (or after) the anchor;
no anchor: a new file.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final


@dataclass(frozen=True)
class Edit:
    """One change of one file."""

    file: str
    text: str
    before: str = ""
    after: str = ""

    def apply(self, root: Path) -> None:
        place = root / self.file
        if not self.before and not self.after:
            assert not place.exists(), f"{self.file} is no new file"
            place.write_text(self.text, encoding="utf-8")
            return
        whole, anchor = place.read_text(encoding="utf-8"), self.before or self.after
        assert whole.count(anchor) == 1, (
            f"{self.file}: {anchor!r} stands {whole.count(anchor)} times"
        )
        new = self.text + anchor if self.before else anchor + self.text
        place.write_text(whole.replace(anchor, new), encoding="utf-8")


CAN_SIZE: Final = """
[[size]]
id = "recipe_400ml"
label = "400 ml of a recipe"
body_class = "211"
end = "202"
capacity_ml = 400.0
diameter_mm = { value = 66.09, mark = "memory", why = "invented" }
diameter_tol_mm = { value = 0.18, mark = "memory", why = "invented" }
finished_height_mm = { value = 130.0, mark = "memory", why = "invented" }
finished_height_tol_mm = { value = 0.5, mark = "memory", why = "invented" }
trimmed_height_mm = { value = 132.1, mark = "computed", low = 130, high = 134, why = "" }
grade = "-"
source = "invented for a test"
note = ""
"""

KEY: Final = """    mesh_pitch: f.Length | None = key(
        "Distance between two openings of the mesh.",
        "mesh_pitch_mm",
        assumed=25.0,
        why=GUESS,
        example="25 mm",
    )
"""

TERM_KEY: Final = """    guide_twist: f.Gap | None = key(
        "How far a guide leans back at its top.", "twist_mm", assumed=0.4, why=GUESS
    )
"""

TERM: Final = """        "guide twist": {
            "why": f"each guide leans back by {guides.twist_mm:g} mm",
            "remedy": "set the guides upright",
        },
"""

RULE: Final = '''def one_wire(_: Scenario, answer: Answer) -> Finding | None:
    """A single wire holds a can at one height only."""
    if len(answer.wire_heights_mm) != 1:
        return None
    at = answer.wire_heights_mm[0]
    return tell(answer, "watch", "a single wire, at {at_mm}", "add a wire", WHY, at_mm=at)


'''

QUANTITY: Final = """    Quantity("cans_in_stage", "cans at once", "count",
        lambda a: round(a.pack.cans_per_metre * 3.0), "Cans on three metres of mat."),
"""

CHART: Final = '''def _rows_needed(study: Study, answer: Answer, display: Display) -> Figure:
    """Draw the lanes of every stage."""
    bars = [Bar(one.stage, 0.0, one.pack.lanes, "") for one in study.of_size(answer.size)]
    return bar_chart(bars, _sheet(study, "How many lanes?", answer.size, "lanes"), row_mm=5.2)


'''

COMMAND: Final = '''"""``packsim lanes``: how many lanes stand between the guides."""

from packsim.cli import options as opt
from packsim.cli.options import Units
from packsim.cli.outputs import Outputs, json_of, load_line


def lanes_command(
    scenario: opt.Scenario,
    units: opt.UnitSystem = Units.metric,
    json: opt.Json = None,
    replace: opt.Replace = False,
) -> None:
    """Count the lanes of every size at every stage."""
    from packsim.study import study_line

    outputs = Outputs(replace, json=json)
    case = load_line(scenario, units)
    found = {f"{one.stage} {one.size}": one.pack.lanes for one in study_line(case).answers}
    outputs.deliver(case, lambda: str(found), json=lambda: json_of("lanes", case, lanes=found))
'''

RECIPES: Final[dict[str, tuple[Edit, ...]]] = {
    "can size": (
        Edit("packsim/catalogue/sizes.toml", CAN_SIZE, before='\n[[size]]\nid = "eu_330ml_std"'),
    ),
    "scenario key": (
        Edit(
            "packsim/line/plant.py",
            "    mesh_pitch_mm: float = 25.0\n",
            after="    specific_heat_J_per_kgK: float = 500.0\n",
        ),
        Edit("packsim/scenario/line_tables.py", KEY, before="\n\nclass GaugesTable(Table):"),
    ),
    "duty": (
        Edit(
            "packsim/line/stage.py",
            '    "pre-heat": Duty(0.01, 0.25, heats=True),\n',
            before='    "drain": Duty(',
        ),
    ),
    "slack term": (
        Edit(
            "packsim/line/guides.py",
            "    twist_mm: float = 0.0\n",
            after="    wear_mm: float = 0.0\n",
        ),
        Edit("packsim/scenario/line_tables.py", TERM_KEY, before="    bracket_min: f.Place | None"),
        Edit(
            "packsim/width/slack_terms.py",
            "    twist_mm: Floats | float\n",
            after="    step_mm: Floats | float\n",
        ),
        Edit(
            "packsim/width/slack_terms.py",
            '            "guide twist": (none, 2.0 * np.asarray(self.twist_mm)),\n',
            before="            STEP: (",
        ),
        Edit(
            "packsim/width/slack_terms.py",
            '"twist_mm", ',
            after="OF_GUIDES: Final = (",
        ),
        Edit("packsim/width/slack_terms.py", TERM, before="        WEAR: {\n"),
    ),
    "finding": (
        Edit("packsim/findings/machine_rules.py", RULE, before="def hold_down_height("),
        Edit("packsim/findings/rules.py", "    machine.one_wire,\n", after="    machine.wires,\n"),
    ),
    "quantity of an answer": (
        Edit(
            "packsim/answers/quantities.py",
            QUANTITY,
            before=")\n\n_TIPPING = (",
        ),
    ),
    "chart": (
        Edit("packsim/report/page/page_charts.py", CHART, before="PAGE_CHARTS: Final = ("),
        Edit(
            "packsim/report/page/page_charts.py",
            '    PageChart(_rows_needed, "Lanes as laid, by stage."),\n',
            after="PAGE_CHARTS: Final = (\n",
        ),
    ),
    "command": (
        Edit("packsim/cli/lanes.py", COMMAND),
        Edit(
            "packsim/cli/commands.py", "from packsim.cli.lanes import lanes_command\n",
            before="\nTITLE = ",
        ),
        Edit("packsim/cli/commands.py", '        "lanes": lanes_command,\n', after="    app: {\n"),
    ),
}  # fmt: skip
"""By what is new."""
