"""How wide and how high: lanes, slack budget, guide window, wires."""
