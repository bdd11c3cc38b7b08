"""``python -m tests.fuzz --cases N --seed S``: throw cases at the commands and count what falls.

``--only NUMBER`` runs one case again and shows it. Exit code 0 where nothing was found.
"""

from __future__ import annotations

import sys

from tests.fuzz.pool import ended_cases
from tests.tried import numbers, options, told


def main(arguments: list[str] | None = None) -> int:
    """Run the cases and print what was found; 1 where anything was."""
    parser = options("tests.fuzz", __doc__, 1000)
    parser.add_argument("--workers", type=int, default=1, help="processes at a time")
    asked = parser.parse_args(arguments)
    return told(ended_cases(asked.seed, numbers(asked), asked.workers), asked)


if __name__ == "__main__":
    sys.exit(main())
