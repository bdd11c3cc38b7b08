"""``python -m tests.look --cases N --seed S``: draw packs, read the pictures, compare.

Every picture is of a random pack by `tests.look.render`. Right is a picture that gives the layout,
the lanes and a slack whose own ± holds the true one; where the middle of a guide is out of sight it
may say no slack. A ± that holds half of all slacks that can be says nothing: such a slack is not
told, and not right. How wide the ± are, and how many slacks are within 2 mm, stands beside it.
``--only NUMBER`` runs one case again and shows it, ``--save FOLDER`` keeps its picture. Exit code 0
where nothing was found. ``--fallen`` lays two cans down in each and leans one, or leaves their gaps
alone in every third, and counts who is found.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from PIL import Image

from packsim.errors import InputError
from packsim.look.look import seen_in
from tests.look.cases import case_of
from tests.look.fallen import COUNTED, counted, fell
from tests.look.judge import SLACK_MM, WIDE_MM, Verdict, judged
from tests.look.render import picture
from tests.tried import End, numbers, options, told


def main(arguments: list[str] | None = None) -> int:
    """Run the cases and print what was found; 1 where anything was."""
    parser = options("tests.look", __doc__, 100)
    parser.add_argument("--save", type=Path, help="folder for the pictures")
    parser.add_argument("--fallen", action="store_true", help="with cans down and leaning")
    asked = parser.parse_args(arguments)
    if asked.fallen:
        return _fallen(asked)
    verdicts: list[Verdict] = []
    found = told(_ends(asked, verdicts), asked)
    summary(verdicts)
    return found


def _fallen(asked: argparse.Namespace) -> int:
    total: Counter[str] = Counter()

    def ends() -> Iterator[End]:
        for number in numbers(asked):
            case, began, seen = case_of(asked.seed, number), time.process_time(), None
            fell(case, np.random.default_rng([asked.seed, number, 2]), number % 3 == 2)
            rng = np.random.default_rng([asked.seed, number, 1])
            shown, wrong = picture(case.mat, case.camera, case.looks, rng) / 255.0, []
            try:
                seen = seen_in(shown, case.mat.diameter_mm, travel=case.travel)
            except InputError as error:
                wrong.append(str(error))
            found = counted(case, seen)
            total.update(found)
            wrong += [
                f"{found[f'{s} none']} {s} that are not" for s in COUNTED if found[f"{s} none"]
            ]
            yield {
                "number": number,
                "kind": "gaps alone" if number % 3 == 2 else "cans down and leaning",
                "words": case.words,
                "code": 2 * (seen is None),
                "took": time.process_time() - began,
                "wrong": wrong,
                "said": ", ".join(f"{name} {count}" for name, count in found.items()),
            }

    code = told(ends(), asked)
    for state in COUNTED:
        there, found, none = (total[f"{state} {what}"] for what in ("there", "found", "none"))
        print(f"{state}: {found} of {there} found, {none} that are not, of {total['cans']} cans")
    return code


def _ends(asked: argparse.Namespace, verdicts: list[Verdict]) -> Iterator[End]:
    for number in numbers(asked):
        case = case_of(asked.seed, number)
        rng = np.random.default_rng([asked.seed, number, 1])
        if asked.save:
            shown = picture(
                case.mat, case.camera, case.looks, np.random.default_rng([asked.seed, number, 1])
            )
            Image.fromarray(shown.astype(np.uint8)).save(
                asked.save / f"look_{asked.seed}_{number}.png"
            )
        began = time.process_time()
        verdict = judged(case, rng)
        verdicts.append(verdict)
        yield {
            "number": number,
            "kind": f"{case.pack.layout}, {'whole width' if all(case.guides_seen) else 'part'}",
            "words": case.words,
            "code": 0,
            "took": time.process_time() - began,
            "wrong": verdict.wrong,
            "said": f"{verdict.said}\n  slack off by {verdict.slack_mm:.2f} "
            f"± {verdict.stated_mm:.2f} mm",
        }


def summary(verdicts: list[Verdict]) -> None:
    """Print shares and errors of all pictures together."""
    count = len(verdicts)
    print(
        f"right: {sum(not v.wrong for v in verdicts)} of {count}; "
        f"layout and lanes: {sum(v.lanes_right for v in verdicts)} of {count}"
    )
    whole = sum(v.whole for v in verdicts)
    slack = np.array([(v.slack_mm, v.stated_mm) for v in verdicts if np.isfinite(v.slack_mm)])
    print(f"slack told in {len(slack)} pictures; {whole} show the middle of both guides")
    if len(slack):
        off, stated = np.abs(slack).T
        print(
            f"  off by {SLACK_MM:g} mm or less: {np.sum(off <= SLACK_MM)} of {len(slack)}\n"
            f"  inside its own ±: {np.sum(off <= stated)} of {len(slack)} "
            f"({np.mean(off <= stated):.0%}; a ± is to hold 95 %)\n"
            f"  ± above {WIDE_MM:g} mm: {np.sum(stated > WIDE_MM)} of {len(slack)}\n"
            f"  ± {np.median(stated):.2f} mm in the median, {np.quantile(stated, 0.9):.2f} mm or "
            f"less in 90 %; off by {np.median(off):.2f} mm in the median, "
            f"{np.mean(slack[:, 0]):+.2f} mm in the mean"
        )
    there, got, false = (sum(getattr(v, k) for v in verdicts) for k in ("there", "found", "false"))
    centre, local, grown = (
        np.abs([e for v in verdicts for e in getattr(v, k)])
        for k in ("centre_mm", "local", "diameters")
    )
    if len(centre):
        print(
            f"cans: {got / there:.2%} of {there} found, {false} that are none; centres: median "
            f"error {np.median(centre):.3f} mm, 95 % within {np.quantile(centre, 0.95):.3f} mm\n"
            f"stated 95 % errors hold: centres against those about them {np.mean(local < 1.96):.0%}"
            f", diameters {np.mean(grown < 1.96):.0%}"
        )


if __name__ == "__main__":
    sys.exit(main())
