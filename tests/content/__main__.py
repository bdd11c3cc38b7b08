"""``python -m tests.content``: hostile names in everything a line can become; exit code 1 if harm.

``--only NAME`` takes one of them.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from collections import Counter
from functools import cache
from pathlib import Path

from tests.content.harmless import READERS, acting
from tests.content.hostile import NAMES, PLAIN, TOO_LONG, commands, line_with
from tests.fuzz.child import run

Made = dict[str, bytes]


def made_of(name: str, left_out: frozenset[str]) -> tuple[Made, list[str]]:
    """Run commands on a line of that name; return what was written, and what was wrong."""
    was, wrong, made = Path.cwd(), [], {}
    with tempfile.TemporaryDirectory(prefix="content_") as folder:
        os.chdir(folder)
        try:
            Path("line.toml").write_text(line_with(name), encoding="utf-8")
            for words in _asked(name, left_out):
                code, out, err = run(words, "")
                told = " ".join(words[:3])
                if code != 0:
                    wrong.append(f"{told}: exit code {code}: {err.strip()[-300:]}")
                wrong += [f"{told}: printed {one!r}" for one in acting(out + err)]
            paths = (path for path in Path().rglob("*") if path.name != "line.toml")
            made = {str(path): path.read_bytes() for path in paths}
        finally:
            os.chdir(was)
    return made, wrong


def _asked(name: str, left_out: frozenset[str]) -> list[tuple[str, ...]]:
    return [words for words in commands(name) if left_out.isdisjoint(words[:3])]


@cache
def plainly(left_out: frozenset[str]) -> Made:
    """What the line becomes under a plain name."""
    made, wrong = made_of(PLAIN, left_out)
    assert not wrong, wrong
    return made


def harm_of(name: str, left_out: frozenset[str] = frozenset()) -> tuple[Counter[str], list[str]]:
    """Return what was tried under a name, by ending, and what was wrong; some commands left out."""
    made, wrong = made_of(name, left_out)
    plain = plainly(left_out)
    wrong += [f"files {sorted(set(made) ^ set(plain))}"] if set(made) != set(plain) else []
    for file in sorted(set(made) & set(plain)):
        try:
            found = READERS[Path(file).suffix](made[file], plain[file])
        except Exception as problem:
            found = [f"not read: {type(problem).__name__}: {problem}"]
        wrong += [f"{file}: {one}" for one in found]
    tried = Counter(Path(file).suffix for file in made)
    tried["printed"] = len(_asked(name, left_out))
    return tried, wrong


def too_long() -> list[str]:
    """Say what is wrong where names are far too long: refused, by key, in few words."""
    was = Path.cwd()
    with tempfile.TemporaryDirectory(prefix="content_") as folder:
        os.chdir(folder)
        try:
            Path("line.toml").write_text(line_with(TOO_LONG), encoding="utf-8")
            code, _, err = run(("packsim", "study", "line.toml"), "")
        finally:
            os.chdir(was)
    wrong = [] if code == 2 else [f"exit code {code}"]
    wrong += [] if "stages[0].name" in err and "sizes[0].name" in err else ["a key is not named"]
    return wrong + ([] if len(err) < 4000 else [f"{len(err)} letters of complaint"])


def main(arguments: list[str] | None = None) -> int:
    """Try the names and print a table; 1 where anything was found."""
    parser = argparse.ArgumentParser(prog="python -m tests.content", description=__doc__)
    parser.add_argument("--only", choices=NAMES, help="this name alone")
    only = parser.parse_args(arguments).only
    total: Counter[str] = Counter()
    found = 0
    for what in NAMES if only is None else [only]:
        tried, wrong = harm_of(NAMES[what])
        total += tried
        found += len(wrong)
        print(f"{what:24}{tried.total():5} tried{len(wrong):5} found", flush=True)
        for one in wrong:
            print(f"    {one}")
    wrong = too_long()
    found += len(wrong)
    print(f"{'ten thousand letters':24}{1:5} tried{len(wrong):5} found  {'; '.join(wrong)}")
    each = ", ".join(f"{kind.strip('.')} {count}" for kind, count in sorted(total.items()))
    print(f"\n{total.total() + 1} tried ({each}), {found} found")
    return int(found > 0)


if __name__ == "__main__":
    sys.exit(main())
