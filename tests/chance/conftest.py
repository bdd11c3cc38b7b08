"""The invented line of the passage's tests."""

from tests.passage.conftest import can as can
from tests.passage.conftest import line as line
