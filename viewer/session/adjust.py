"""What can be changed while the pack runs: one table of dials, each a pure step on the line."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from packsim.constants import MM_PER_INCH
from packsim.errors import Assumption, InputError
from packsim.line import LAYOUTS, Stage
from packsim.line.guides import Guides, Reach
from packsim.line.knob import with_field
from packsim.line.knobs import knob, with_faces_moved, with_kick_energy, with_wire_height
from packsim.report.words.display import Display
from packsim.report.words.numbers import ROWS, percent
from packsim.setting.moves import step_of
from viewer.lessons.lesson import check_on_mat
from viewer.line import LoadedLine


@dataclass(frozen=True, slots=True)
class Dial:
    """One thing to change, under its name in the panel and the key that picks it.

    ``shown`` is the value as a text, of (units, line, stage index, part). ``step`` makes a
    changed stage of (stage, steps, part, units), by steps that are round in those units; None for
    what belongs to the whole line. ``parts`` is how many parts of a stage its key goes through:
    wires, headers, or both guides and each alone. A ``wide`` dial always acts on every stage, one
    that is ``alone`` on the chosen stage. ``covers`` ends the key in the record of assumptions that
    a hand-set value replaces.
    """

    name: str
    key: str
    shown: Callable[[Display, LoadedLine, int, int], str]
    step: Callable[[Stage, int, int, Display], Stage] | None
    wide: bool = False
    covers: str = ""
    parts: Callable[[Stage], int] = lambda _stage: 1
    alone: bool = False


BY_HAND = "set by hand in the viewer; nobody has measured it"

METRIC = Display("metric")

STEP_MM = 0.5
"""Width, wires and headers change by half a millimetre, the step a careful fitter sets; in inches
by a mark of the rule."""

PITCH_STEPS_MM = 0.1, 0.005 * MM_PER_INCH
"""The nozzle pitch changes by 0.1 mm, or by 0.005 in."""

SPEED_STEPS_MM_PER_S = 100.0 / 60.0, 0.5 * 12.0 * MM_PER_INCH / 60.0
"""0.1 m/min, or half a foot a minute."""


def turned(
    loaded: LoadedLine,
    dial: Dial,
    steps: int,
    stages: tuple[int, ...],
    part: int = 0,
    *,
    display: Display = METRIC,
) -> LoadedLine:
    """Return a line with one dial turned by some steps, down when negative.

    ``stages`` are those it acts on, ``part`` is the one of several that is meant, such as the
    wire, lowest 0. A value set by hand replaces its entry in the record of assumptions. Raises
    `InputError` if the value would leave its range, in the units of ``display``.
    """
    scenario = loaded.scenario
    if dial.name == "can size":
        names = [can.name for can in scenario.sizes]
        return replace(loaded, size=names[(names.index(loaded.size) + steps) % len(names)])
    if dial.step is None:
        speed = round(
            scenario.mat.speed_mm_per_s + steps * of_system(SPEED_STEPS_MM_PER_S, display), 9
        )
        mat = replace(scenario.mat, speed_mm_per_s=speed)
        return replace(loaded, scenario=replace(scenario, mat=mat))
    changed = list(scenario.stages)
    stages = tuple(range(len(changed))) if dial.wide else stages
    for i in stages:
        before = changed[i]
        changed[i] = dial.step(before, steps, part, display)
        check_on_mat(scenario, changed[i], display)
        _check_in_reach(scenario.mat.width_mm, before.guides, changed[i].guides, display)
    by_key = {f"stages[{i}]{dial.covers}": changed[i] for i in stages if dial.covers}
    assumed = _recorded(scenario.assumed, by_key, dial)
    return replace(loaded, scenario=replace(scenario, stages=tuple(changed), assumed=assumed))


def _check_in_reach(mat_mm: float, before: Guides, now: Guides, display: Display) -> None:
    """Raise `InputError` if a guide would go beyond, or farther beyond, what its bracket allows."""
    reach = Reach.of(now, mat_mm)
    beyond = reach.farthest_beyond_mm(now)
    if now.travel_mm is not None and beyond > reach.farthest_beyond_mm(before) + 1e-9:
        got = f"{display.length(beyond)} beyond the travel of its bracket"
        ends = f"{display.bare(reach.near_mm)} to {display.length(reach.far_mm)}"
        raise InputError("guide", got, f"{ends} from its edge")


def _recorded(
    assumed: tuple[Assumption, ...], by_key: dict[str, Stage], dial: Dial
) -> tuple[Assumption, ...]:
    """Drop what a hand-set value replaces; a kick energy stays assumed, with its new value."""
    kept = []
    for entry in assumed:
        stage = by_key.get(entry.key)
        if stage is None:
            kept.append(entry)
        elif dial.name == "kick energy":
            energy = stage.kicks.energy_mJ
            kept.append(replace(entry, value=f"{energy:g} mJ", why=BY_HAND, number=energy))
    return tuple(kept)


def of_system(steps: tuple[float, float], display: Display) -> float:
    """Return the step that is round in the units shown, of a metric one and one in inches."""
    return steps[0 if display.metric else 1]


def step_mm(dial: Dial, stage: Stage, part: int, display: Display) -> float:
    """Return how far one step moves the part: to the right, of a wire up; 0 if nothing moves [mm].

    A guide alone and the pack go by the step of the brackets.
    """
    fine = display.rule_step_mm or STEP_MM
    bracket = step_of(stage, display.rule_step_mm) or fine
    if dial.name == "clear width":
        return (0.0, -bracket, bracket)[part]
    return {"shift": bracket, "wire height": fine, "header place": fine}.get(dial.name, 0.0)


def _width(stage: Stage, steps: int, part: int, display: Display) -> Stage:
    """Move both guides by half of it, or one of them; more is wider."""
    if part == 0:
        half = steps * (display.rule_step_mm or STEP_MM) / 2.0
        return with_faces_moved(stage, -half, half)
    by = steps * step_mm(DIALS[0], stage, part, display)
    return with_faces_moved(stage, by if part == 1 else 0.0, by if part == 2 else 0.0)


def _shift(stage: Stage, steps: int, _part: int, display: Display) -> Stage:
    by = steps * step_mm(DIALS[1], stage, 0, display)
    return with_faces_moved(stage, by, by)


def _header(stage: Stage, steps: int, part: int, display: Display) -> Stage:
    if not stage.headers:
        raise InputError("header", "none", "a stage with a header")
    at = min(part, len(stage.headers) - 1)
    by = steps * (display.rule_step_mm or STEP_MM)
    first = round(stage.headers[at].first_mm + by, 9)
    found: Stage = with_field(stage, f"headers.{at}.first_mm", first)
    return found


def _wire_height(stage: Stage, steps: int, wire: int, display: Display) -> Stage:
    heights = stage.guides.wires.heights_mm
    wire = min(wire, len(heights) - 1)
    return with_wire_height(stage, heights[wire] + steps * (display.rule_step_mm or STEP_MM), wire)


def _kick(stage: Stage, steps: int, _wire: int, _display: Display) -> Stage:
    energy = max(stage.kicks.energy_mJ, 0.001) * 1.25**steps
    # three figures, so that a saved file reads like one written by hand
    return with_kick_energy(stage, float(f"{min(energy, 1e5):.3g}"))


def _pitch(stage: Stage, steps: int, _wire: int, display: Display) -> Stage:
    pitch = knob("nozzle-pitch")
    if not stage.headers:
        return stage
    return pitch.turn(
        stage, round(pitch.now(stage) + steps * of_system(PITCH_STEPS_MM, display), 9)
    )


def _show_shift(display: Display, loaded: LoadedLine, stage: int, _wire: int) -> str:
    middle = loaded.scenario.stages[stage].guides.centre_mm
    off = middle - loaded.scenario.mat.width_mm / 2.0
    side = " right" if off > 0.05 else " left" if off < -0.05 else ""
    return display.setting(abs(off)) + side


def _show_width(display: Display, loaded: LoadedLine, stage: int, part: int) -> str:
    guides = loaded.scenario.stages[stage].guides
    if part == 0:
        return display.setting(guides.narrowest_mm)
    face = (guides.narrowest.left_mm, guides.narrowest.right_mm)[part - 1]
    return f"{('left', 'right')[part - 1]} at {display.setting(face)}"


def _show_header(display: Display, loaded: LoadedLine, stage: int, part: int) -> str:
    headers = loaded.scenario.stages[stage].headers
    if not headers:
        return "no headers"
    at = min(part, len(headers) - 1)
    return f"no. {at + 1}: {display.setting(headers[at].first_mm)}"


def _show_wire(display: Display, loaded: LoadedLine, stage: int, wire: int) -> str:
    heights = loaded.scenario.stages[stage].guides.wires.heights_mm
    wire = min(wire, len(heights) - 1)
    return f"no. {wire + 1}: {display.setting(heights[wire])}"


def _of_stage(
    text: Callable[[Display, Stage], str],
) -> Callable[[Display, LoadedLine, int, int], str]:
    return lambda display, loaded, stage, _wire: text(display, loaded.scenario.stages[stage])


DIALS: tuple[Dial, ...] = (
    Dial("clear width", "w", _show_width, _width, parts=lambda _stage: 3),
    Dial("shift", "s", _show_shift, _shift),
    Dial(
        "wire height",
        "h",
        _show_wire,
        _wire_height,
        parts=lambda stage: len(stage.guides.wires.heights_mm),
    ),
    Dial("can size", "c", lambda _d, loaded, _s, _w: loaded.size, None),
    Dial(
        "rows",
        "l",
        _of_stage(lambda _d, s: ROWS[s.layout]),
        lambda s, n, _w, _d: replace(
            s, layout=LAYOUTS[(LAYOUTS.index(s.layout) + n) % len(LAYOUTS)]
        ),
        wide=True,
    ),
    Dial(
        "fill",
        "f",
        _of_stage(lambda _d, s: percent(s.fill)),
        lambda s, n, _w, _d: replace(s, fill=round(min(1.0, s.fill + 0.005 * n), 9)),
        wide=True,
        covers=".pack_fill",
    ),
    Dial(
        "kick energy",
        "k",
        _of_stage(lambda _d, s: f"{s.kicks.energy_mJ:.3g} mJ"),
        _kick,
        covers=".kicks.energy",
    ),
    Dial("mat speed", "m", lambda d, a, _s, _w: d.speed(a.scenario.mat.speed_mm_per_s), None),
    Dial(
        "nozzle pitch",
        "n",
        _of_stage(lambda d, s: d.length(s.headers[0].pitch_mm) if s.headers else "no nozzles"),
        _pitch,
    ),
    Dial(
        "header place",
        "f8",
        _show_header,
        _header,
        parts=lambda stage: max(1, len(stage.headers)),
        alone=True,
    ),
)
"""Every dial, in the order of the panel."""
