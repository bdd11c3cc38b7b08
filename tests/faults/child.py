"""The program, which sends itself a signal at a line of `packsim.write`: MOMENT SIGNAL WORDS.

A moment of 0 is none; below that the lines are counted, and said at the end.
"""

from __future__ import annotations

import locale
import os
import signal
import sys
from pathlib import Path
from types import FrameType
from typing import Any

HERE = Path(__file__).resolve().parents[2] / "packsim" / "write.py"


def main(moment: int, number: int) -> None:
    """Arm the signal and run the program; the whole group gets it, but for what none can catch."""
    if "LOCPATH" in os.environ:
        locale.setlocale(locale.LC_ALL, "")
    seen, mine, file = [0], os.getpid(), str(HERE)

    def each(frame: FrameType, event: str, _: object) -> Any:
        if frame.f_code.co_filename != file or os.getpid() != mine:
            return None
        seen[0] += event == "line"
        if seen[0] == moment and event == "line":
            if number == signal.SIGKILL:
                os.kill(mine, number)
            else:
                os.killpg(os.getpgid(0), number)
        return each

    if moment:
        sys.settrace(each)
    try:
        from packsim.cli.app import main as program

        program()
    finally:
        sys.settrace(None)
        if moment < 0:
            sys.stderr.write(f"lines of writing: {seen[0]}")


if __name__ == "__main__":
    asked = [int(word) for word in sys.argv[1:3]]
    sys.argv = sys.argv[3:]
    main(*asked)
