"""Does a can tip: how far it may lean, what holds it, what it takes to turn it over."""
