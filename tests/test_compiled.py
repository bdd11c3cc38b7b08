"""A kernel is one source: compiled it gives what it gives as Python, its helpers with it."""

from __future__ import annotations

import math
import subprocess
import sys

import numpy as np

from packsim.compiled import compiled, kernel


@kernel
def _longest(one: float, other: float) -> float:
    return max(math.hypot(one, 1.0), other)


@kernel
def longest_of(values: np.ndarray) -> float:
    found = 0.0
    for value in values:
        found = _longest(value, found)
    return found


def test_a_kernel_and_the_kernel_it_calls_give_the_same_compiled() -> None:
    values = np.array([0.5, 3.0, 2.0])
    plain = longest_of(values)
    fast = compiled(longest_of)
    assert fast(values) == plain == math.hypot(3.0, 1.0)
    assert compiled(longest_of) is fast
    assert hasattr(fast, "py_func")


def test_what_needs_no_kernel_does_not_import_numba() -> None:
    code = "import packsim, packsim.cli.app, sys; print('numba' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
