"""Text in: a scenario file becomes a checked, frozen `Scenario`; units and layout live here."""

from packsim.scenario.load import load_scenario, parse_scenario
from packsim.scenario.write import scenario_to_toml
