"""Guide settings, tipping margins and nozzle alignment for beverage-can packs on a washer mat."""
