"""The cautions every report, sheet and screen carries."""

CAUTIONS = (
    "Isolate and lock out the mat, pumps and blowers before reaching into the machine.",
    "Wash liquids are hot and corrosive: let them drain, wear eye, face and skin protection.",
    "Guide wires are under tension: slacken them with the take-up before touching a bracket.",
    "Oven parts stay hot long after the burners stop.",
    "These are screening numbers for planning. Local codes, the machine maker's instructions and "
    "licensed practice come first.",
)
"""What to say before anyone goes near the machine."""

CAUTION_LINE = (
    "Isolate and lock out before reaching in; hot, corrosive liquids; tensioned wires. "
    "Local codes, the machine maker and licensed practice come first."
)
"""The same in one line, for screens with little room."""
