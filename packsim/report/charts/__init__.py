"""Charts, as SVG or PNG."""
