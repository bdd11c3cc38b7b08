"""What can go wrong, in few kinds: one root so that callers can catch everything of ours."""

from __future__ import annotations

from collections.abc import Sequence


class PacksimError(Exception):
    """Root of every error this package raises on purpose."""


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
        source = ", ".join(part for part in (self.file, self.place) if part)
        where = ": ".join(part for part in (source, self.key) if part)
        return f"{where}: got {self.got}; needs {self.allowed}"

    @property
    def each(self) -> tuple[InputError, ...]:
        """The complaints this one stands for: itself, or all of a file."""
        return (self,)

    def in_file(self, file: str) -> InputError:
        """Return the same complaint with the file it belongs to."""
        return InputError(self.key, self.got, self.allowed, file, self.place)

    def under(self, prefix: str) -> InputError:
        """Return the same complaint with ``prefix`` put before its key."""
        return InputError(f"{prefix}.{self.key}", self.got, self.allowed, self.file, self.place)


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

    def in_file(self, file: str) -> InputErrors:
        """Return the same complaints with the file they belong to."""
        return InputErrors([one.in_file(file) for one in self._each])

    def under(self, prefix: str) -> InputErrors:
        """Return the same complaints with ``prefix`` put before their keys."""
        return InputErrors([one.under(prefix) for one in self._each])


class ConvergenceError(PacksimError, RuntimeError):
    """An iteration did not reach its stated tolerance."""
