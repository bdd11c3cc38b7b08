"""``python -m tests.faults --cases N --seed S``: end commands at any moment, spoil their places.

``--only NUMBER`` runs one case again and shows it. Exit code 0 where nothing was found.
"""

from __future__ import annotations

import sys

from tests.faults.kinds import ended_cases
from tests.tried import numbers, options, told


def main(arguments: list[str] | None = None) -> int:
    """Run the cases and print what was found; 1 where anything was."""
    asked = options("tests.faults", __doc__, 500).parse_args(arguments)
    return told(ended_cases(asked.seed, numbers(asked)), asked)


if __name__ == "__main__":
    sys.exit(main())
