"""Numbers from outside: what is wrong with one, the checks that say so, and those only assumed."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import pairwise
from numbers import Integral, Real
from typing import TypeVar


class PacksimError(Exception):
    """Root of every error this package raises on purpose."""


@contextmanager
def ends_raised() -> Iterator[None]:
    """Raise an interrupt as what it is, where compiled code made a `SystemError` of it."""
    try:
        yield
    except SystemError as error:
        cause: BaseException | None = error
        while isinstance(cause, SystemError):  # one for each call of C on the way out
            cause = cause.__cause__
        if isinstance(cause, KeyboardInterrupt | SystemExit):
            raise cause from None
        raise


T = TypeVar("T")


class InputError(PacksimError, ValueError):
    """A value from outside is not acceptable.

    Parameters
    ----------
    key : str
        Path of the value, e.g. ``stages[1].clear_width``.
    got : object
        The offending value, shown as it came.
    allowed : str
        What would be accepted, e.g. ``a length above 0 mm``.
    file : str, optional
        File the value came from.
    place : str
        Where it stands in the file, e.g. ``line 3, column 5``; empty where that is not known.

    Examples
    --------
    >>> str(InputError("mat.width", "-3 mm", "a length above 0 mm", file="line.toml"))
    'line.toml: mat.width: got -3 mm; needs a length above 0 mm'
    """

    def __init__(
        self, key: str, got: object, allowed: str, file: str | None = None, place: str = ""
    ) -> None:
        self.key = key
        self.got = got
        self.allowed = allowed
        self.file = file
        self.place = place
        super().__init__(key, got, allowed, file, place)

    def __str__(self) -> str:
        file = one_line(self.file, 1000) if self.file else ""
        source = ", ".join(part for part in (file, self.place) if part)
        where = ": ".join(part for part in (source, one_line(self.key)) if part)
        return f"{where}: got {one_line(self.got)}; needs {one_line(self.allowed, 1000)}"

    @property
    def each(self) -> tuple[InputError, ...]:
        """The complaints this one stands for: itself, or all of a file."""
        return (self,)

    def in_file(self, file: str) -> InputError:
        """Return the same complaints with the file they belong to."""
        return _joined([InputError(e.key, e.got, e.allowed, file, e.place) for e in self.each])

    def under(self, prefix: str) -> InputError:
        """Return the same complaints with ``prefix`` put before their keys."""
        found = [(f"{prefix}.{e.key}", e.got, e.allowed, e.file, e.place) for e in self.each]
        return _joined([InputError(*one) for one in found])


class Complaints:
    """Keeps what is refused of several things asked, to complain of all at once."""

    def __init__(self) -> None:
        self.refused = list[InputError]()

    def of(self, ask: Callable[[], T], otherwise: T) -> T:
        """Return what is asked; ``otherwise`` where that is refused."""
        try:
            return ask()
        except InputError as refused:
            self.refused += refused.each
            return otherwise

    def complain(self) -> None:
        """Raise `InputErrors` of all that was refused, if anything was."""
        if self.refused:
            raise InputErrors(self.refused)


class InputErrors(InputError):
    """Several values are not acceptable; read as the first of them, shown one on a line.

    Parameters
    ----------
    each : sequence of InputError
        At least one.
    """

    def __init__(self, each: Sequence[InputError]) -> None:
        first = each[0]
        super().__init__(first.key, first.got, first.allowed, first.file, first.place)
        self._each = tuple(each)

    def __str__(self) -> str:
        return "\n".join(str(one) for one in self._each)

    def __reduce__(self) -> tuple[type[InputErrors], tuple[tuple[InputError, ...]]]:
        return InputErrors, (self._each,)

    @property
    def each(self) -> tuple[InputError, ...]:
        """The complaints, in the order of the file."""
        return self._each


def one_line(raw: object, most: int = 200) -> str:
    r"""Return something from outside as it is shown: on one line, harmless and not too long.

    Examples
    --------
    >>> one_line("5 mm"), one_line("a\tb"), one_line("12345", most=3)
    ('5 mm', "'a\\tb'", '123...')
    """
    try:
        text = str(raw)
    except ValueError:  # Python refuses to print whole numbers of thousands of digits
        return "a whole number of thousands of digits"
    cut = text if len(text) <= most else text[:most] + "..."
    return cut if cut.isprintable() else ascii(cut)


def printable(text: str) -> str:
    r"""Return a text with control characters turned into spaces: nothing may act on them.

    Examples
    --------
    >>> printable("wash\n1")
    'wash 1'
    """
    return "".join(letter if letter.isprintable() else " " for letter in text)


def _joined(each: list[InputError]) -> InputError:
    return each[0] if len(each) == 1 else InputErrors(each)


class ConvergenceError(PacksimError, RuntimeError):
    """An iteration did not reach its stated tolerance."""


def finite(key: str, value: float) -> float:
    """Return ``value`` if it is a finite number, else raise `InputError`."""
    if type(value) is float and math.isfinite(value):
        return value  # as nearly always: `Real` is slow to ask
    if isinstance(value, bool) or not isinstance(value, Real) or not math.isfinite(value):
        raise InputError(key, value, "a finite number")
    return float(value)


def positive(key: str, value: float) -> float:
    """Return ``value`` if it is finite and above zero, else raise `InputError`."""
    if finite(key, value) <= 0.0:
        raise InputError(key, value, "a number above 0")
    return float(value)


def non_negative(key: str, value: float) -> float:
    """Return ``value`` if it is finite and not below zero, else raise `InputError`."""
    if finite(key, value) < 0.0:
        raise InputError(key, value, "a number of 0 or more")
    return float(value)


def at_least(key: str, value: float, low: float, unit: str = "") -> float:
    """Return ``value`` if it is finite and not below ``low``, else raise `InputError`."""
    if finite(key, value) < low:
        raise InputError(key, value, f"at least {low:g} {unit}".rstrip())
    return float(value)


def between(key: str, value: float, low: float, high: float, unit: str = "") -> float:
    """Return ``value`` if ``low`` <= value <= ``high``, else raise `InputError`."""
    if not low <= finite(key, value) <= high:
        raise InputError(key, value, f"a value from {low:g} to {high:g} {unit}".rstrip())
    return float(value)


def whole(key: str, value: int, low: int, high: int, allowed: str) -> int:
    """Return ``value`` if it is whole and from ``low`` to ``high``, else raise `InputError`."""
    if isinstance(value, bool) or not isinstance(value, Integral) or not low <= value <= high:
        raise InputError(key, value, allowed)
    return int(value)


def count(key: str, value: int) -> int:
    """Return a whole number of 0 or more; raise `InputError` for anything else."""
    return whole(key, value, 0, 2**53, "a whole number of 0 or more")


def one_of(key: str, value: str, allowed: tuple[str, ...]) -> str:
    """Return ``value`` if it is one of ``allowed``, else raise `InputError`."""
    if value not in allowed:
        raise InputError(key, repr(value), "one of " + ", ".join(allowed))
    return value


def wire_heights(key: str, heights_mm: tuple[float, ...]) -> None:
    """Raise `InputError` unless there is a wire, each above the mat and above the one before."""
    if not heights_mm:
        raise InputError(key, "no wire", "at least one wire")
    for i, height in enumerate(heights_mm):
        positive(f"{key}[{i}]", height)
    if any(b <= a for a, b in pairwise(heights_mm)):
        raise InputError(key, list(heights_mm), "heights rising from the mat")


@dataclass(frozen=True, slots=True)
class Assumption:
    """One assumed value.

    Parameters
    ----------
    key : str
        What is assumed, e.g. ``stages[0].kicks.energy``.
    value : str
        The value with its metric unit, as a person would write it.
    why : str
        Where it comes from, or that it comes from nowhere yet.
    number : float, optional
        The value in ``unit``; None for a word, which reads the same in every unit system.
    unit : str
        Metric unit of the number as a scenario file writes it; empty for a ratio.
    """

    key: str
    value: str
    why: str
    number: float | None = field(default=None, compare=False)
    unit: str = field(default="", compare=False)

    @classmethod
    def measured_nowhere(cls, key: str, number: float, unit: str, why: str) -> Assumption:
        """Return the assumption of a number in a metric unit, its value worded here."""
        return cls(key, readable(number, unit), why, number, unit)

    def __str__(self) -> str:
        return f"{self.key} = {self.value} (assumed: {self.why})"


def readable(number: float, unit: str, digits: int = 6) -> str:
    """Return a number and its unit without powers of ten.

    Examples
    --------
    >>> readable(1.364e6, "N"), readable(600.0, "N"), readable(1.6e-5, "1/K"), readable(0.6, "")
    ('1.364 MN', '600 N', '16 µm/(m K)', '0.6')
    """
    if unit == "1/K":
        number, unit = number * 1e6, "µm/(m K)"
    elif unit in {"N", "lbf"} and abs(number) >= 1e5:
        number, unit = (number / 1e6, "MN") if unit == "N" else (number / 1e3, "thousand lbf")
    return f"{plain_figures(number, digits)} {unit}".rstrip()


def plain_figures(number: float, digits: int) -> str:
    """Return a number to some figures, a large one in whole units.

    Examples
    --------
    >>> plain_figures(21.4, 1), plain_figures(0.0449, 1), plain_figures(1364000.0, 4)
    ('21', '0.04', '1364000')
    """
    text = f"{number:.{digits}g}"
    return f"{number:.0f}" if "e+" in text else text


def whole_percent(share: float) -> str:
    """Return a share in whole percent, never all or nothing where it is not quite.

    Examples
    --------
    >>> whole_percent(0.934), whole_percent(0.9991), whole_percent(1.0), whole_percent(0.0004)
    ('93 %', 'over 99 %', '100 %', 'under 1 %')
    """
    if 0.995 <= share < 1.0:
        return "over 99 %"
    if 0.0 < share < 0.005:
        return "under 1 %"
    return f"{100.0 * share:.0f} %"
