"""A line small enough to work out by hand."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from packsim.line import Scenario, Stage
from tests.small_line import small_line, small_stage


@pytest.fixture
def stage() -> Callable[..., Stage]:
    return small_stage


@pytest.fixture
def line() -> Callable[..., Scenario]:
    return small_line
