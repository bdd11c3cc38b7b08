"""A new header for a stage: where to drill it so that the worst lane gets most for a litre."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import cache
from typing import Final

import numpy as np

from packsim.errors import InputError
from packsim.headers.arrangement import chosen_sizes, rests_on, sprayed_stages
from packsim.headers.bank import Bank, banks, hold_margin, hold_margins, kind_of
from packsim.headers.judge import Judge, demands_of
from packsim.headers.proposal import HeaderDesign, Proposal
from packsim.headers.row_bound import bound, spread_apart
from packsim.headers.row_search import APART_MM, Limits, Rows, search
from packsim.headers.wish import DesignWish
from packsim.line import Scenario
from packsim.nozzles.drilling import nearest_row
from packsim.spray.dose import PLACE_OF
from packsim.spray.pipe import PIPE_ASSUMED
from packsim.spray.spray_load import SPRAY_ASSUMED

Progress = Callable[[float, int], None]

ALIKE: Final = 0.01
EVEN_ALIKE: Final = 0.005
"""Headers whose worst lanes get within 1 % of an even spread of each other are alike, and the more
even one is taken; of those within half a percent as even, again the one that gives most. No gauge
of a header shows a percent of flow (assumed)."""


def design_headers(
    scenario: Scenario,
    stages: Sequence[str] = (),
    sizes: Sequence[str] = (),
    wish: DesignWish | None = None,
    progress: Progress | None = None,
) -> tuple[HeaderDesign, ...]:
    """Design the headers of stages anew, for all sizes at once.

    Parameters
    ----------
    scenario : Scenario
        The case; its headers say nozzle, pressure and stand-off, and what there is today.
    stages, sizes : sequence of str
        Names; all when empty. Stages without a header are left out.
    wish : DesignWish, optional
        What is asked of the new headers.
    progress : callable, optional
        Called with (done, of) as it goes on.

    Returns
    -------
    tuple of HeaderDesign
        One for each drilling: stages whose packs and nozzles are alike share theirs.

    Raises
    ------
    InputError
        If a name is unknown, no chosen stage has a header, a size fits nowhere or strikes a
        header, or no header does what is asked.

    Notes
    -----
    Every size stands where the line will really carry it: at the recommended setting, anywhere
    within its wander. The worst lane is the one that gets least there with every hole off by its
    tolerance the wrong way.
    """
    asked = DesignWish() if wish is None else wish
    cans = chosen_sizes(scenario, sizes)
    for name in asked.weights or {}:
        if name not in (known := [can.name for can in cans]):
            raise InputError("weight", repr(name), "one of " + ", ".join(known))
    found = sprayed_stages(scenario, stages)
    if not found:
        allowed = "a stage with a header, which says nozzle, pressure and stand-off"
        raise InputError("headers", "no header in these stages", allowed)
    groups: dict[tuple[object, ...], list[Bank]] = {}
    for bank in (one for i in found for one in banks(scenario, i, [c.name for c in cans], asked)):
        groups.setdefault(kind_of(bank, asked), []).append(bank)
    if asked.side and not groups:
        raise InputError("side", repr(asked.side), "a side that has a header in these stages")
    designs = []
    for done, group in enumerate(groups.values()):
        designs.append(_design(scenario, group, asked))
        if progress is not None:
            progress(done + 1, len(groups))
    line = apply_design(scenario, designs)
    return tuple(
        replace(
            one,
            hold_together=tuple(
                min(hold_margin(bank, k, line.stages[bank.index].headers) for bank in group)
                for k in range(len(cans))
            ),
        )
        for one, group in zip(designs, groups.values(), strict=True)
    )


def apply_design(scenario: Scenario, designs: Sequence[HeaderDesign]) -> Scenario:
    """Return the line with the recommended headers in the place of today's.

    Parameters
    ----------
    scenario : Scenario
        The line they were designed for.
    designs : sequence of HeaderDesign
        The designs.

    Returns
    -------
    Scenario
        Guides and all else as they are; headers of a stage in order along travel.

    Raises
    ------
    InputError
        If the line has not the headers they replace.
    """
    stages = {stage.name: stage for stage in scenario.stages}
    for design in designs:
        for name, today, anew in zip(design.stages, design.today, design.anew, strict=True):
            headers = list(stages[name].headers) if name in stages else []
            for header in today:
                if header not in headers:
                    raise InputError("designs", f"one for other headers in {name!r}", "their own")
                headers.remove(header)
            headers = sorted([*headers, *anew], key=lambda header: header.station_mm)
            stages[name] = replace(stages[name], headers=tuple(headers))
    return scenario.with_stages(tuple(stages.values()))


def _design(scenario: Scenario, group: Sequence[Bank], wish: DesignWish) -> HeaderDesign:
    lead = max(group, key=lambda bank: bank.flow * len(bank.today))
    demands, today = (demands_of(group, lead, one, wish) for one in (lead.new, lead.today[0]))
    judge = Judge(
        group=group,
        lead=lead,
        today=today,
        demands=demands,
        wish=wish,
        hold_today=hold_margins(group, None),
    )
    limits = _limits(scenario, judge)
    found, curve = search(demands, limits)
    places = [header.positions_mm for header in lead.today]
    nearest = nearest_row([d.lines_mm for d in demands], [d.weight for d in demands])
    rest = [judge.proposal("today", places), judge.proposal("lanes", [nearest] * len(places))]
    made = _made(judge, found, limits) if found else []
    if wish.aim == "distance":
        made = [rest.pop(), *made]
    every = (*made, *rest)  # today's first where nothing else gives enough
    best = every[0]
    assumed = [a for at in lead.packs for a in rests_on(scenario, at, load=True)]
    return HeaderDesign(
        stages=tuple(scenario.stages[bank.index].name for bank in group),
        side=lead.side,
        place=PLACE_OF[lead.side],
        lead=scenario.stages[lead.index].name,
        sizes=tuple(d.size for d in demands),
        lanes=tuple(len(d.lines_mm) for d in demands),
        packs=lead.packs,
        wander_mm=tuple(d.wander_mm for d in demands),
        tolerance_mm=wish.tolerance_mm,
        header=lead.new,
        proposals=every,
        bound=bound(demands, limits.pipe_mm),
        curve=curve,
        today=tuple(bank.today for bank in group),
        anew=tuple(
            bank.today if best.what == "today" else bank.drilled(best.nozzles_mm) for bank in group
        ),
        assumed=tuple(dict.fromkeys([*assumed, *SPRAY_ASSUMED, *PIPE_ASSUMED])),
    )


def _limits(scenario: Scenario, judge: Judge) -> Limits:
    """Return the limits asked for: as many nozzles as today at most, as few as can give enough."""
    lead, wish = judge.lead, judge.wish
    places = np.concatenate([header.positions_mm for header in lead.today])
    floor = tuple(wish.least_dose * d.least_mL(places) for d in judge.today)
    rows, most = len(lead.today), max(h.count for h in lead.today)
    most = most if wish.most is None else wish.most
    need = [
        least / (d.mL_per_mm * d.even_mm * rows)
        for least, d in zip(floor, judge.demands, strict=True)
    ]
    pipe = wish.pipe_mm or (0.0, scenario.mat.width_mm)
    fewest = max(2, math.ceil(max(need))) if wish.fewest is None else wish.fewest
    if not 1 <= fewest <= most:
        raise InputError("most", most, f"at least {fewest} nozzles, the fewest that can do")
    return Limits(
        fewest=fewest,
        most=most,
        pipe_mm=(pipe[0] + APART_MM, pipe[1] - APART_MM),
        rows=rows,
        stagger=wish.stagger,
        pitch_mm=wish.pitch_mm,
        least_mL=floor,
    )


def _made(judge: Judge, found: list[tuple[float, Rows]], limits: Limits) -> list[Proposal]:
    """Return the recommended header, then the ways to do with less, each where it differs."""
    least = judge.wish.least_hold
    made = cache(lambda rows: judge.proposal("best", list(rows.nozzles_mm)))
    every = [rows for _, rows in found if least is None or made(rows).hold_margin >= least]
    if not every:
        most = max(made(rows).hold_margin for _, rows in found)
        allowed = f"at most {most:.2f}, the most any of them keeps"
        raise InputError("least-hold", f"{least:g}", allowed)
    top = max(value for value, rows in found if rows in every)
    near = [rows for value, rows in found if rows in every and value >= top - ALIKE]
    first = _chosen({rows: made(rows) for rows in near})
    kept = [made(first)]
    if judge.wish.uneven:
        row = spread_apart(judge.demands, limits, first)
        kept.append(judge.proposal("uneven", [row] * limits.rows))
    straight = [rows for rows in every if rows.in_line and not first.in_line][:1]
    fewer = [rows for rows in every if rows.count < first.count][:1]
    if straight != fewer:
        kept += [replace(made(rows), what="in line") for rows in straight]
    kept += [replace(made(rows), what="fewer") for rows in fewer]
    return kept


def _chosen(held: Mapping[Rows, Proposal]) -> Rows:
    """Return the one to recommend of those alike: as even as any, to `EVEN_ALIKE`."""
    even = max(one.least_share for one in held.values())
    even_too = [rows for rows, one in held.items() if one.least_share >= even - EVEN_ALIKE]
    return max(even_too, key=lambda rows: held[rows].even_share)
