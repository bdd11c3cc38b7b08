"""How well each value of a file is known: what was measured, listed, or is documented here."""
