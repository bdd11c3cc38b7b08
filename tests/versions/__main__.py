"""``python -m tests.versions [--python PATH ...] [--lowest]``: the same bytes with other versions.

Makes an environment for each interpreter (the newer ones found here, where none is named), with
the newest versions of what pyproject asks for or with the ``--lowest``, writes JSON and CSV of
every command there and here, and compares. Packages come from where they come from here. Exit code
0 where all are the same.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.versions.commands import COMMANDS, ROOT, as_typed, first_difference, surroundings
from tests.versions.environment import interpreters, made

Files = dict[str, bytes]


def main(arguments: list[str] | None = None) -> int:
    """Compare, print what differs and one table; 1 where anything does or could not be tried."""
    parser = argparse.ArgumentParser(prog="python -m tests.versions", description=__doc__)
    parser.add_argument("--python", type=Path, nargs="+", help="interpreters to compare with")
    parser.add_argument("--lowest", action="store_true", help="with the lowest versions allowed")
    parser.add_argument("--made", action="store_true", help="they have all installed: make nothing")
    asked = parser.parse_args(arguments)
    others = asked.python or ([Path(sys.executable)] if asked.lowest else interpreters())
    if not others:
        print("no newer Python is found here: name one with --python")
        return 1
    with tempfile.TemporaryDirectory(prefix="versions_") as place:
        here, ours = _all_files(Path(sys.executable), Path(place))
        rows = [_compared(one, asked, ours) for one in others]
    print(f"\n{here} and:\n{'':70}{'files':>7}{'found':>7}")
    for name, files, found in rows:
        print(f"{name:70}{files:7}{found:7}")
    return int(any(found or not files for _, files, found in rows))


def _compared(python: Path, asked: argparse.Namespace, ours: Files) -> tuple[str, int, int]:
    """Compare with one interpreter: its versions, how many files, how many differ."""
    with tempfile.TemporaryDirectory(prefix="versions_") as place:
        folder = Path(place)
        if not asked.made:
            python, why = made(python, folder, low=asked.lowest)
            if why:
                print(f"{python} cannot be compared: {why}")
                return f"{python}, not compared", 0, 0
        name, theirs = _all_files(python, folder)
    differ = [key for key in ours | theirs if ours.get(key) != theirs.get(key)]
    for key in differ:
        what = first_difference(ours.get(key, b""), theirs.get(key, b""))
        print(f"{name}\n  {key}\n  {what}", flush=True)
    return name, len(ours), len(differ)


def _all_files(python: Path, folder: Path) -> tuple[str, Files]:
    """The versions of an interpreter, and what every command writes with it.

    Which version of the program is installed there is no difference.
    """
    child = subprocess.run(
        [python, "-m", "tests.versions.child", folder],
        cwd=ROOT,
        env=surroundings(folder),
        stdout=subprocess.PIPE,
        text=True,
        check=False,
    )
    if child.returncode:
        return f"{python}, exit code {child.returncode}", {}
    told = json.loads(child.stdout)
    files = {}
    for number, wrong in enumerate(told["ended"]):
        command = COMMANDS[number]
        if wrong:
            print(f"{told['name']}\n  {command}\n  {wrong}", flush=True)
            files[f"{command}, json"] = wrong.encode()
            continue
        for ending, file in as_typed(number, folder)[1].items():
            data = file.read_bytes().replace(told["program"].encode(), b"packsim")
            files[f"{command}, {ending}"] = data
    return told["name"], files


if __name__ == "__main__":
    sys.exit(main())
