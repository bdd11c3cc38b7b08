"""Inner loops are written once, in plain Python; numba compiles them where many cans are asked.

A kernel is a function of numbers and arrays that `kernel` marks. Called as it stands it is Python,
which is quick enough for a handful of cans, needs no numba, and is what the tests of small
cases run. `compiled` hands out the same source compiled; numba keeps the machine code on disk.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from types import FunctionType
from typing import Any, TypeVar

KERNELS: dict[FunctionType, Any] = {}
"""Every marked function, in the order of reading, with its compiled self once there is one."""

Function = TypeVar("Function", bound=Callable[..., Any])


def kernel(function: Function) -> Function:
    """Mark a function as a kernel: numbers and arrays only, calling nothing but other kernels.

    Parameters
    ----------
    function : callable
        What `numba.njit` can compile. Kernels it calls are marked before it.

    Returns
    -------
    callable
        The function itself, unchanged.
    """
    if not isinstance(function, FunctionType):
        raise TypeError(f"a kernel is a plain function, not {function!r}")
    KERNELS[function] = None
    return function


def compiled(function: Function) -> Function:
    """Return a kernel compiled: the same source, the same answers, a hundred times the speed.

    The first call in a process imports numba (about 0.5 s of CPU); the first on a machine compiles
    (seconds), and says so on the screen for errors.

    Parameters
    ----------
    function : callable
        A function marked with `kernel`.

    Returns
    -------
    callable
        Its compiled self; asked again, the same object.
    """
    if not isinstance(function, FunctionType):
        return function  # in a module of kernels the name already means the compiled self
    if KERNELS[function] is None:
        _compile_all()
    return KERNELS[function]  # type: ignore[no-any-return]


def _compile_all() -> None:
    """Compile what is marked and not compiled yet.

    Numba looks a kernel's helpers up by name in its module when it is first called, so the names in
    the modules of kernels are pointed at the compiled selves.
    """
    import numba

    for function, done in KERNELS.items():
        if done is None:
            KERNELS[function] = numba.njit(cache=True, nogil=True)(function)
    for module in {function.__module__ for function in KERNELS}:
        names = vars(sys.modules[module])
        for name, value in list(names.items()):
            if isinstance(value, FunctionType) and value in KERNELS:
                names[name] = KERNELS[value]
