"""What every test may ask for: the published check values, and a screenless pygame."""

from __future__ import annotations

import gc
import os
import signal
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
import typer.main
from hypothesis import HealthCheck, settings

from packsim.can import Can
from packsim.chance import line_chance
from packsim.chance.sample import Plan
from packsim.line import Bracket, Guides, Header, Kicks, Mat, Nozzle, Scenario, Stage, Wires
from tests.__main__ import USUAL

# the same examples on every run and every machine; a slow machine is no failure, nor one that has
# to compile while an example is drawn
settings.register_profile(
    "every test",
    deadline=None,
    derandomize=True,
    max_examples=100,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.register_profile("usual", settings.get_profile("every test"), max_examples=10)
settings.load_profile("every test")

# a shell may start the tests with interrupts ignored, as it does in the background; the commands
# started here would inherit that, and those that are to be interrupted would never end
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)

os.environ.setdefault("SDL_VIDEODRIVER", "dummy")
os.environ.setdefault("SDL_AUDIODRIVER", "dummy")
os.environ["PACKSIM_CACHE"] = "off"  # nothing of a test in the user's folder, nothing of it used


def pytest_addoption(parser: pytest.Parser) -> None:
    """Let the random events of the viewer be more than usual."""
    parser.addoption(
        "--random-events", type=int, default=400, help="random events for the viewer's window"
    )


def pytest_configure(config: pytest.Config) -> None:
    """Try fewer examples of each property where ``python -m tests`` leaves out some tests."""
    gc.set_threshold(100_000, 50, 20)  # as usual, a tenth of the time goes into looking for garbage
    if config.option.markexpr == USUAL:
        settings.load_profile("usual")


ROOT = Path(__file__).resolve().parents[1]


@dataclass(frozen=True)
class Published:
    """One value from outside the project, with its source."""

    id: str
    what: str
    value: float
    tolerance: float
    source: str
    where: str
    inputs: dict[str, Any]

    def agrees(self, got: float) -> bool:
        return abs(got - self.value) <= self.tolerance


@pytest.fixture(scope="session", autouse=True)
def _no_width_from_outside() -> None:
    """Workers of a parallel run have COLUMNS in their environment: what is printed follows it."""
    os.environ.pop("COLUMNS", None)


@pytest.fixture(scope="session", autouse=True)
def _commands_are_read_once() -> Iterator[None]:
    """A process makes its command once; here a thousand are made, and reading them takes long."""
    with pytest.MonkeyPatch.context() as patch:
        read = cache(typer.main.get_params_from_function)
        patch.setattr(typer.main, "get_params_from_function", read)
        yield


@pytest.fixture(scope="session")
def published() -> dict[str, Published]:
    """The values of shared/published.toml by id; ``where`` says read or from memory."""
    with (ROOT / "shared" / "published.toml").open("rb") as file:
        rows = tomllib.load(file)["check"]
    fields = Published.__dataclass_fields__
    return {row["id"]: Published(**{k: row[k] for k in fields}) for row in rows}


@pytest.fixture
def coarse_look(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Chances from a coarse look at the pack, for tests that read none; kept for no other."""
    from packsim.compare import by_slack

    coarse = Plan(slice_mm=300.0, cans=60, dt_s=0.5, look_mm=2000.0)
    monkeypatch.setattr(line_chance, "Plan", lambda: coarse)
    monkeypatch.setattr(line_chance, "LEAST_REPEATS", 2)
    monkeypatch.setattr(line_chance, "MOST_REPEATS", 2)
    by_slack._moved.cache_clear()
    yield
    by_slack._moved.cache_clear()


@pytest.fixture(scope="session")
def root() -> Path:
    """The checkout."""
    return ROOT


def _can(name: str = "can", **given: Any) -> Can:
    """D 60, H 120, centre of gravity at 72: the balance angle has the tangent 5/12, dry."""
    values = {
        "diameter_mm": 60.0,
        "height_mm": 120.0,
        "mass_kg": 0.01,
        "cg_mm": 72.0,
        "dome_depth_mm": 10.0,
        "dome_rim_radius_mm": 20.0,
    }
    return Can(name, **(values | given))


def _stage(name: str = "wash", width_mm: float = 590.0, **given: Any) -> Stage:
    """Guides about the middle of a 1000 mm mat; whatever Guides, Wires or Stage take goes."""
    wires = {"heights_mm": (48.0, 96.0), "tension_N": 600.0, "mass_kg_per_m": 0.05}
    wires |= {"stiffness_N": 1.3e6}
    guides: dict[str, Any] = {"setting_step_mm": 1.0, "wear_mm": 0.0}
    for part, kind in ((wires, Wires), (guides, Guides)):
        part |= {key: given.pop(key) for key in kind.__dataclass_fields__ if key in given}
    centre = given.pop("centre_mm", 500.0)
    faces = (centre - width_mm / 2.0, centre + width_mm / 2.0)
    guides.setdefault("brackets", (Bracket(0.0, *faces),))
    plain: dict[str, Any] = {"duty": "flood", "length_mm": 3000.0, "kicks": Kicks(0.05, 2.0)}
    return Stage(name, guides=Guides(wires=Wires(**wires), **guides), **(plain | given))


def _header(side: str = "above", **given: Any) -> Header:
    """Eleven cones at a pitch of 52 mm from 240 mm, 0.1 MPa unless told."""
    cone = given.pop("nozzle", Nozzle("cone", 1.0, 1.0e4, 0.2))
    plain = {"station_mm": 1000.0, "mat_distance_mm": 300.0 if side == "above" else 150.0}
    plain |= {"first_mm": 240.0, "pitch_mm": 52.0, "count": 11, "pressure_MPa": 0.1}
    return Header(side, nozzle=cone, **(plain | given))


def _line(*stages: Stage, cans: tuple[Can, ...] | None = None, **given: Any) -> Scenario:
    """A scenario on a 1000 mm mat at 100 mm/s, for one plain can unless told."""
    sizes = cans or (_can(),)
    plain: dict[str, Any] = {"mat": Mat(1000.0, 100.0), "set_for": sizes[0].name}
    return Scenario("a small line", "Invented.", stages=stages, sizes=sizes, **(plain | given))


@pytest.fixture(scope="session")
def small() -> SimpleNamespace:
    """Builders of a small invented line: ``can``, ``stage``, ``header``, ``line``."""
    return SimpleNamespace(can=_can, stage=_stage, header=_header, line=_line)
