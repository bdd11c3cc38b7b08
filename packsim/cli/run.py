"""``packsim run``: carry the pack through every stage, can by can, and count."""

import sys
import time
from collections.abc import Callable, Sequence
from functools import partial
from typing import TYPE_CHECKING, Annotated, Any, Final

import typer

from packsim.cli import options as opt
from packsim.cli.app import CANS, REPEATS
from packsim.cli.options import Units
from packsim.cli.outputs import Outputs, chances, display_in, json_of, load_line, past_of
from packsim.cli.terminal import progress_bar

if TYPE_CHECKING:
    from packsim.chance import LineChance
    from packsim.line import Scenario

_WHOLE = (
    "Follow the cans through a line full of cans, or count slices that repeat along travel: "
    "quicker, but cans held up or pushed back are not seen. If left out: slices, but the whole "
    "line where slices would count otherwise; the screen says why."
)
_PLACES = "Draw tips by stage and place (.svg or .png)."
_PROFILE = "Draw the slack along the line (.svg or .png)."
_VOIDS = "Draw the voids along the line (.svg or .png)."
_RESUME = (
    "Keep every run in this file when it has finished (.jsonl). The same command goes on from "
    "there after an interrupt, a crash or a power cut, and gives the same numbers."
)
_LONG_S: Final = 60.0
_ASK_AFTER_S: Final = 5.0


def run_command(
    scenario: opt.Scenario,
    cans: Annotated[int, typer.Option(help="Cans to count in each run.")] = CANS,
    whole_line: Annotated[bool | None, typer.Option("--whole-line/--slices", help=_WHOLE)] = None,
    repeats: Annotated[int, typer.Option(help="Number of runs, each with its own seed.")] = REPEATS,
    seed: Annotated[
        int | None, typer.Option(help="Seed of the random numbers; the scenario's own if left out.")
    ] = None,
    workers: Annotated[
        int | None,
        typer.Option(
            help="Number of processes; all cores if left out. The result is the same for any."
        ),
    ] = None,
    size: opt.Size = None,
    guides: opt.Guides = None,
    fitted: opt.Fitted = None,
    no_cache: opt.NoCache = False,
    can_friction: Annotated[float, typer.Option(help="Friction between cans.")] = 0.0,
    units: opt.UnitSystem = Units.metric,
    json: opt.Json = None,
    chart: opt.Chart = None,
    places: Annotated[str | None, typer.Option(metavar="FILE", help=_PLACES)] = None,
    profile: Annotated[str | None, typer.Option(metavar="FILE", help=_PROFILE)] = None,
    voids: Annotated[str | None, typer.Option(metavar="FILE", help=_VOIDS)] = None,
    record: opt.Record = None,
    resume: Annotated[str | None, typer.Option(metavar="FILE", help=_RESUME)] = None,
    replace: opt.Replace = False,
) -> None:
    """Simulate packs through every stage, can by can: count what tips, against the expected."""
    from packsim.counts.order import Order
    from packsim.findings.finding import quoted
    from packsim.passage.record import PLACES
    from packsim.passage.store import save_record
    from packsim.scenario import scenario_to_toml
    from packsim.scenario.values.ranges import settings

    pictures: dict[str, Any] = {
        "chart": chart,
        "places": places,
        "profile": profile,
        "voids": voids,
    }
    outputs = Outputs(replace, json=json, record=record, resume=resume, **pictures)
    order = Order(
        size=size,
        seed=seed,
        cans=cans,
        repeats=repeats,
        workers=workers,
        whole_line=whole_line,
        can_friction=can_friction,
    )
    line = load_line(scenario, units, fitted)
    name_of_size = line.size(size).name
    lines = settings(line, name_of_size, guides or ("as-set",), units)
    past = past_of(line)
    expected: list[LineChance | None] = []
    meanwhile = partial(_meanwhile, list(lines.values()), name_of_size, expected)
    with progress_bar("counting", "cans") as tick:
        told = tick if resume else _advising(tick)
        counted = order.count_each(list(lines.values()), told, resume, meanwhile)
    from packsim.report.charts import run_charts
    from packsim.report.terminal.run_view import run_report
    from packsim.report.words.run_case import RunCase

    again = " ".join(["packsim", *map(quoted, sys.argv[1:])]) if resume else ""
    cases: list[RunCase] = []
    for (name, setting), passages in zip(lines.items(), counted, strict=True):
        chance = expected[len(cases)] if len(cases) < len(expected) else None
        # the chance is worked out without friction between cans; nothing to compare with it
        if passages.interrupted or can_friction:
            chance = None
        elif chance is None:
            (chance,) = chances([(passages.size, setting)])
        cases.append(RunCase(f"guides {name}", setting, passages, again, chance))

    def kept() -> Callable[..., None]:
        with progress_bar("keeping one passage") as tick:
            first = cases[0].scenario
            return partial(save_record, order.keep(first, scenario_to_toml(first), tick))

    display = display_in(units)
    made: dict[str, Callable[[], Any]] = {
        "json": lambda: json_of(
            "run",
            line,
            seed=cases[0].passages.seed,
            places=PLACES,
            cases=tuple(cases),
            history=past,
        )
    }
    if any(case.passages.counted for case in cases):
        made["chart"] = lambda: run_charts.run_chart(cases)
        made["places"] = lambda: run_charts.run_places_chart(cases)
        made["profile"] = lambda: run_charts.run_slack_chart(cases, display)
        made["voids"] = lambda: run_charts.run_void_chart(cases)
    elif any(pictures.values()):
        typer.echo("no chart: no can went through", err=True)
    if not cases[-1].passages.interrupted:
        made["record"] = kept
    outputs.deliver(line, lambda: run_report(cases, display, past), **made)


def _meanwhile(lines: "Sequence[Scenario]", size: str, expected: "list[LineChance | None]") -> None:
    """Load and work out what is said besides the counts, as far as that is soon done."""
    from packsim.chance import kept_chance
    from packsim.report.terminal import run_view  # noqa: F401
    from packsim.report.words.run_case import stops

    for line in lines:
        stops(line, size)
        expected.append(kept_chance(line, size))


def _advising(tick: Callable[[float, int], None]) -> Callable[[float, int], None]:
    """Return what ticks and, once, says of a long run that it keeps nothing.

    The pace is that since the first tick: before it kernels may have been compiled.
    """
    first: list[float] = []
    said = False

    def told(done: float, of: int) -> None:
        nonlocal said
        now = time.perf_counter()
        first[:] = first or [now, done]
        took = now - first[0]
        if not said and took > _ASK_AFTER_S:
            said = True
            if (left_s := took * (of - done) / (done - first[1])) > _LONG_S:
                typer.echo(
                    f"packsim: some {max(2, round(left_s / 60.0))} minutes to go. With --resume "
                    "FILE.jsonl finished runs are kept: a run that is cut off goes on from there.",
                    err=True,
                )
        tick(done, of)

    return told
