"""What a command takes and gives: its line, its chances, and where the answer goes.

Files and standard output are checked before the work and filled after it.
"""

from __future__ import annotations

import dataclasses
import json
import shlex
import sys
from collections.abc import Callable, Mapping, Sequence
from contextvars import ContextVar
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from packsim.cli.terminal import print_to_terminal, progress_bar
from packsim.errors import InputError

if TYPE_CHECKING:
    from rich.console import RenderableType

    from packsim.chance import History, LineChance
    from packsim.line import Scenario
    from packsim.report.files.stamp import Stamp
    from packsim.report.words.display import Display


_CHART: Final = (".svg", ".png")
_ENDINGS: Final[dict[str, Sequence[str]]] = {
    "chart": _CHART,
    "places": _CHART,
    "profile": _CHART,
    "voids": _CHART,
    "svg": (".svg",),
    "dxf": (".dxf",),
    "pdf": (".pdf",),
    "record": (".npz",),
    "resume": (".jsonl",),
    "file": (".toml",),
}


asked: ContextVar[Any] = ContextVar("asked", default=None)
"""The command that is running, as typer holds it."""


def load_line(path: Path, units: str, fitted: Path | None = None) -> Scenario:
    """Read a scenario file, with the rule guides are set by in a unit system.

    What that takes is loaded only now, so that help is quick.
    """
    from packsim.scenario import load_scenario

    case = load_scenario(path, fitted=fitted)
    return dataclasses.replace(case, rule_step_mm=display_in(units).rule_step_mm)


def told_in(ctx: Any, given: StrEnum) -> StrEnum:
    """Return the units asked for, or those the scenario on the command line is told in."""
    source = ctx.get_parameter_source("units")
    if source is not None and source.name != "DEFAULT":  # an enumeration of the typer installed
        return given
    from packsim.scenario.text_files import read_text, read_toml  # what no command line may break

    try:
        return type(given)(read_toml(read_text(Path(ctx.params["scenario"])), "")["units"])
    except (LookupError, TypeError, ValueError):  # none, or one that is refused later
        return given


def display_in(units: str) -> Display:
    """Return what words numbers in a unit system."""
    from packsim.report.words.display import Display

    return Display(units)


def json_of(*told: Any, **parts: Any) -> dict[str, Any]:
    """Return the answer of a command as data; `packsim.report.files.as_json` says of what."""
    from packsim.report.files import as_json as files

    return files.as_json(*told, **parts)


class Outputs:
    """The places a command was given for its answer, by the names of their options.

    ``-`` is standard output, None is not asked for; ``endings`` is what the name of ``output`` must
    end in, ``kind`` is its kind where that does not go by its name. Raises `InputError` if a place
    must not be written (a file exists and ``replace`` is not set, but for one to ``resume``), ends
    in the wrong letters, or is given twice.
    """

    def __init__(
        self,
        replace: bool,
        *,
        endings: Sequence[str] = (),
        kind: str = "",
        **places: str | Path | None,
    ) -> None:
        self.kinds = {name: f".{name}" for name in ("csv", "json", "html")} | {
            "output": kind,
            "readings": ".csv",
            "counts": ".csv",
        }
        self.replace, self.names = replace, {*places, "replace", "no_cache"}
        self.places = {name: str(place) for name, place in places.items() if place is not None}
        for name, place in self.places.items():
            self._check(name, place, endings if name == "output" else _ENDINGS.get(name, ()))

    def _check(self, name: str, place: str, endings: Sequence[str]) -> None:
        if endings and Path(place).suffix.lower() not in endings:
            raise InputError(name, repr(place), "a name ending in " + " or ".join(endings))
        if list(self.places.values()).count(place) > 1:
            raise InputError(name, repr(place), "a different place for each output")
        if place != "-":
            from packsim.write import check_target

            try:
                check_target(Path(place), replace=self.replace or name == "resume")
            except InputError as refused:
                raise InputError(name, repr(place), refused.allowed) from refused

    def deliver(
        self,
        case: Scenario | None,
        report: Callable[[], RenderableType],
        **made: Callable[[], Any],
    ) -> None:
        """Write what was asked for of a line; print the report unless standard output is taken.

        By the name of its option, each of ``made`` returns what its file holds: text, bytes, plain
        data for JSON, a chart, a drawing, or a function of a path and ``replace`` that writes. All
        is made before any of it is written: what is refused leaves no file.
        """
        whole = {name: make() for name, make in made.items() if name in self.places}
        for name, what in whole.items():
            self._write(name, what, case)
        if "-" not in self.places.values():
            print_to_terminal(report())

    def _write(self, name: str, what: Any, case: Scenario | None) -> None:
        from packsim.report.files.stamp import scenario_hash, stamp_of, stamped
        from packsim.write import write_bytes

        place = Path(self.places[name])
        if callable(what):
            what(place, replace=self.replace)
            return
        ending = self.kinds.get(name) or place.suffix.lower()
        params = {} if asked.get() is None else asked.get().params
        file = params.get("scenario") or params.get("taken_on")
        # what else an answer rests on; trials may be sheets, which are not read here
        beside = [params.get("after"), params.get("figures"), *(params.get("others") or ())]
        digest = scenario_hash(file, params.get("fitted"), filter(None, beside)) if file else ""
        stamp = stamp_of(_command(self.names), case, digest)
        data = stamped(_bytes(what, ending, stamp), ending, stamp)
        if str(place) == "-":
            # UTF-8 and newlines as they are, whatever the terminal speaks: it is for programs
            sys.stdout.flush()
            sys.stdout.buffer.write(data)
            sys.stdout.buffer.flush()
        else:
            write_bytes(place, data, replace=self.replace)


def _bytes(what: Any, ending: str, stamp: Stamp) -> bytes:
    if isinstance(what, bytes):
        return what
    if isinstance(what, str):
        return what.encode("utf-8")
    if isinstance(what, Mapping):  # never NaN or Infinity
        told = {"schema": what["schema"], "stamp": dataclasses.asdict(stamp)} | dict(what)
        text = json.dumps(told, indent=2, ensure_ascii=False, allow_nan=False)
        return (text + "\n").encode("utf-8")
    from packsim.report.drawings.drawing import Drawing

    if isinstance(what, (Drawing, tuple)):
        from packsim.report.drawings.drawing_files import drawing_bytes

        return drawing_bytes(what, ending, stamp)
    from packsim.report.charts.chart_frame import chart_png, chart_svg

    return chart_svg(what).encode("utf-8") if ending == ".svg" else chart_png(what, 200)


def _command(left_out: set[str]) -> str:
    """Return the command that is running with what differs from its defaults, files by name."""
    running = asked.get()
    if running is None:
        return "packsim"
    words = running.command_path.split()
    for param in running.command.params:
        value = running.params.get(param.name)
        if param.name in left_out or value in (None, False, [], param.default):
            continue
        option = [max(param.opts, key=len)] if param.param_type_name == "option" else []
        for one in value if isinstance(value, (list, tuple)) else [value]:
            words += option
            words += [] if one is True else [one.name if isinstance(one, Path) else str(one)]
    return shlex.join(words)


def chances(
    lines: Sequence[tuple[str, Scenario]], *, sides: bool = False
) -> tuple[LineChance, ...]:
    """Return the chance of each can size on a line, as many as are given.

    ``sides`` adds the other sides of entry where the side is assumed.
    """
    if not lines:
        return ()
    from packsim.chance import chance_of
    from packsim.report.words.chance_words import entry_assumed

    found = []
    for size, scenario in lines:
        with progress_bar(f"chance of a tip, {size}") as tick:
            asked = sides and entry_assumed(scenario)
            found.append(chance_of(scenario, size, progress=tick, sides=asked))
    return tuple(found)


def past_of(scenario: Scenario) -> History | None:
    """Return a line's history beside the model; None where the scenario has none."""
    if not scenario.history:
        return None
    from packsim.chance import compare_history

    with progress_bar("comparing with the line's history") as tick:
        return compare_history(scenario, progress=tick)


def keep_none(asked: bool) -> bool:
    """Use no passages run before and keep none, where asked: no command has to pass it on."""
    if asked:
        from packsim.kept import keep_nothing

        keep_nothing()
    return asked
