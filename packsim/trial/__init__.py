"""Trials on the floor: what to try, what the counts say about the kicks, what that is worth."""
