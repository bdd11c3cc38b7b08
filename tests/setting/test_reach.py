"""Where brackets can be set: whole steps of the rule inside the window, within reach."""

import pytest

from packsim.line.guides import Reach
from packsim.setting.moves import on_marks


@pytest.mark.parametrize("step_mm", [0.0, 5e-324, 1e-300])
def test_a_step_finer_than_a_width_can_tell_leaves_the_setting_as_it_is(step_mm: float) -> None:
    left, right = on_marks((700.3, 500.0), (699.0, 702.0), Reach(1000.0, 0.0, 400.0), step_mm)
    assert left == right == pytest.approx((1000.0 - 700.3) / 2.0)
