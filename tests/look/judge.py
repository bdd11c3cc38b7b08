"""What was read of a picture against what is true of the pack in it."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from scipy.spatial import cKDTree

from packsim.errors import InputError
from packsim.look.look import seen_in
from packsim.look.measure import measure_pack
from packsim.look.seen import SeenPack
from packsim.pack.lattice import lane_pitch_mm
from tests.look.cases import Case
from tests.look.render import picture

SLACK_MM = 2.0
"""Less than any step a guide is set in."""

WIDE_MM = 4.0
"""A ± above this is called wide."""

NOTHING = 0.25
"""A ± of more than this share of the lane pitch says nothing: it holds half of all slacks a pack
can have, from none to room for a lane more."""


@dataclass
class Verdict:
    """Of one picture: what is wrong, and errors over stated errors."""

    wrong: list[str] = field(default_factory=list)
    said: str = ""
    lanes_right: bool = False
    centre_mm: list[float] = field(default_factory=list)
    local: list[float] = field(default_factory=list)
    diameters: list[float] = field(default_factory=list)
    slack_mm: float = math.nan
    stated_mm: float = math.nan
    whole: bool = False
    found: int = 0
    there: int = 0
    false: int = 0


def judged(case: Case, rng: np.random.Generator) -> Verdict:
    """Draw a case, read it, compare."""
    shown = picture(case.mat, case.camera, case.looks, rng)
    verdict = Verdict(whole=all(case.guides_seen))
    try:
        seen = seen_in(shown / 255.0, case.mat.diameter_mm, travel=case.travel)
        looked = measure_pack(seen)
    except InputError as error:
        verdict.wrong.append(str(error))
        return verdict
    centres_against(case, seen, verdict)
    if looked.layout != case.pack.layout:
        verdict.wrong.append(f"layout {looked.layout}")
    if verdict.whole and looked.lanes != case.pack.lanes:
        verdict.wrong.append(f"{looked.lanes} lanes")
    verdict.lanes_right = not verdict.wrong
    if verdict.whole or looked.slack_mm is not None:  # a guide may be seen beside the middle
        slack_against(case, looked, verdict)
    verdict.said = f"{verdict.found}/{verdict.there} cans, {verdict.false} false; " + "; ".join(
        looked.not_seen
    )
    return verdict


def slack_against(case: Case, looked: object, verdict: Verdict) -> None:
    """Compare the slack: the truth has to lie inside the ± that is stated, which has to tell."""
    slack = looked.slack_mm  # type: ignore[attr-defined]
    if slack is None:
        verdict.wrong.append("no slack")
        return
    verdict.slack_mm = slack.value - case.pack.slack_mm
    verdict.stated_mm = slack.within
    said = f"slack off by {verdict.slack_mm:+.2f} ± {slack.within:.2f} mm"
    if abs(verdict.slack_mm) > slack.within:
        verdict.wrong.append(said)
    elif slack.within > NOTHING * lane_pitch_mm(case.pack.diameter_mm, case.pack.layout):
        verdict.wrong.append(f"{said}, which says nothing")


def centres_against(case: Case, seen: SeenPack, verdict: Verdict) -> None:
    """Compare centres: all of them, turned and shifted as one, and each against its neighbours."""
    true = case.camera.to_picture(case.mat.centres_mm)
    size = np.array(case.camera.size_px)
    reach = 0.5 * case.mat.diameter_mm * case.camera.px_per_mm
    inside = np.all((true > 1.5 * reach) & (true < size - 1.5 * reach), axis=1)
    away, which = cKDTree(true).query(seen.view.to_picture(seen.centres_mm))
    ok = away < 0.3 * reach
    verdict.there, verdict.false = int(inside.sum()), int((~ok).sum())
    verdict.found = int(np.isin(np.flatnonzero(inside), which[ok]).sum())
    one, two = seen.centres_mm[ok], case.mat.centres_mm[which[ok]]
    a, b = one - one.mean(axis=0), two - two.mean(axis=0)
    u, _, v = np.linalg.svd(a.T @ b)
    verdict.centre_mm = np.hypot(*(a @ (u @ v) - b).T).tolist()
    smooth = _cubic(one)
    if len(one) > 2 * smooth.shape[1]:  # what all have in common is the view's error, not a can's
        left = two - smooth @ np.linalg.lstsq(smooth, two, rcond=None)[0]
        left *= np.sqrt(len(one) / (len(one) - smooth.shape[1]))
        verdict.local = (left / seen.errors_mm[ok][:, None]).ravel().tolist()
    grown = seen.diameters_mm[ok] - case.mat.diameter_mm
    verdict.diameters = (grown / seen.diameter_errors_mm[ok]).tolist()


def _cubic(at: np.ndarray) -> np.ndarray:
    """Terms of a smooth map of the plane, shape (n, 10)."""
    x, y = ((at - at.mean(axis=0)) / np.ptp(at, axis=0).max()).T
    return np.column_stack([x**i * y**j for i in range(4) for j in range(4 - i)])
