"""Questions asked of a pack: does it hold, is it hit right, how fast does it run."""
