"""What can be changed while the pack runs: one table of dials, each a pure step on the line."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from packsim.errors import Assumption
from packsim.line import LAYOUTS, Stage
from packsim.line.knobs import knob, with_faces_moved, with_kick_energy, with_wire_height
from packsim.report.words.display import Display
from packsim.report.words.numbers import percent
from viewer.lessons.lesson import check_on_mat
from viewer.line import LoadedLine


@dataclass(frozen=True, slots=True)
class Dial:
    """One thing to change, under its name in the panel and the key that picks it.

    ``shown`` is the value as a text, of (units, line, stage index, wire index). ``step`` makes a
    changed stage of (stage, steps, wire index); None for what belongs to the whole line. A ``wide``
    dial always acts on every stage. ``covers`` ends the key in the record of assumptions that a
    hand-set value replaces.
    """

    name: str
    key: str
    shown: Callable[[Display, LoadedLine, int, int], str]
    step: Callable[[Stage, int, int], Stage] | None
    wide: bool = False
    covers: str = ""


BY_HAND = "set by hand in the viewer; nobody has measured it"

STEP_MM = 0.5
"""Guides and wires move by half a millimetre, the step a careful fitter sets."""

SPEED_STEP_MM_PER_S = 100.0 / 60.0
"""0.1 m/min."""


def turned(
    loaded: LoadedLine, dial: Dial, steps: int, stages: tuple[int, ...], wire: int = 0
) -> LoadedLine:
    """Return a line with one dial turned by some steps, down when negative.

    ``stages`` are those it acts on, ``wire`` is the wire whose height is meant, lowest 0. A value
    set by hand replaces its entry in the record of assumptions. Raises `InputError` if the value
    would leave its range.
    """
    scenario = loaded.scenario
    if dial.name == "can size":
        names = [can.name for can in scenario.sizes]
        return replace(loaded, size=names[(names.index(loaded.size) + steps) % len(names)])
    if dial.step is None:
        speed = round(scenario.mat.speed_mm_per_s + steps * SPEED_STEP_MM_PER_S, 9)
        mat = replace(scenario.mat, speed_mm_per_s=speed)
        return replace(loaded, scenario=replace(scenario, mat=mat))
    changed = list(scenario.stages)
    stages = tuple(range(len(changed))) if dial.wide else stages
    for i in stages:
        changed[i] = dial.step(changed[i], steps, wire)
        check_on_mat(scenario, changed[i])
    by_key = {f"stages[{i}]{dial.covers}": changed[i] for i in stages if dial.covers}
    assumed = _recorded(scenario.assumed, by_key, dial)
    return replace(loaded, scenario=replace(scenario, stages=tuple(changed), assumed=assumed))


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


def _wire_height(stage: Stage, steps: int, wire: int) -> Stage:
    heights = stage.guides.wires.heights_mm
    wire = min(wire, len(heights) - 1)
    return with_wire_height(stage, heights[wire] + steps * STEP_MM, wire)


def _kick(stage: Stage, steps: int, _wire: int) -> Stage:
    energy = max(stage.kicks.energy_mJ, 0.001) * 1.25**steps
    # three figures, so that a saved file reads like one written by hand
    return with_kick_energy(stage, float(f"{min(energy, 1e5):.3g}"))


def _pitch(stage: Stage, steps: int, _wire: int) -> Stage:
    pitch = knob("nozzle-pitch")
    if not stage.headers:
        return stage
    return pitch.turn(stage, round(pitch.now(stage) + 0.1 * steps, 9))


def _show_shift(display: Display, loaded: LoadedLine, stage: int, _wire: int) -> str:
    middle = loaded.scenario.stages[stage].guides.centre_mm
    off = middle - loaded.scenario.mat.width_mm / 2.0
    side = " right" if off > 0.05 else " left" if off < -0.05 else ""
    return display.length(abs(off)) + side


def _show_wire(display: Display, loaded: LoadedLine, stage: int, wire: int) -> str:
    heights = loaded.scenario.stages[stage].guides.wires.heights_mm
    wire = min(wire, len(heights) - 1)
    return f"no. {wire + 1}: {display.length(heights[wire])}"


def _of_stage(
    text: Callable[[Display, Stage], str],
) -> Callable[[Display, LoadedLine, int, int], str]:
    return lambda display, loaded, stage, _wire: text(display, loaded.scenario.stages[stage])


DIALS: tuple[Dial, ...] = (
    Dial(
        "clear width",
        "w",
        _of_stage(lambda d, s: d.length(s.guides.narrowest_mm)),
        lambda s, n, _w: with_faces_moved(s, -n * STEP_MM / 2.0, n * STEP_MM / 2.0),
    ),
    Dial("shift", "s", _show_shift, lambda s, n, _w: with_faces_moved(s, n * STEP_MM, n * STEP_MM)),
    Dial("wire height", "h", _show_wire, _wire_height),
    Dial("can size", "c", lambda _d, loaded, _s, _w: loaded.size, None),
    Dial(
        "layout",
        "l",
        _of_stage(lambda _d, s: s.layout),
        lambda s, n, _w: replace(s, layout=LAYOUTS[(LAYOUTS.index(s.layout) + n) % len(LAYOUTS)]),
        wide=True,
    ),
    Dial(
        "fill",
        "f",
        _of_stage(lambda _d, s: percent(s.fill)),
        lambda s, n, _w: replace(s, fill=round(min(1.0, s.fill + 0.005 * n), 9)),
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
)
"""Every dial, in the order of the panel."""
