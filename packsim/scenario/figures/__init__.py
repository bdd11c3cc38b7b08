"""The user's own figures in: cans, prices and minutes, any of them with a ± or a range."""

from packsim.scenario.figures.load import load_figures
