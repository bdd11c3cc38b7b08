"""Where the kick energies of a line come from: which trials, and for which duties."""

from packsim.line import Scenario


def fitted_kicks(scenario: Scenario) -> tuple[tuple[tuple[str, ...], str], ...]:
    """Return pairs of duties and the trial that their kick energies were fitted to."""
    duties: dict[str, dict[str, None]] = {}
    for stage in scenario.stages:
        if stage.kicks.trial:
            duties.setdefault(stage.kicks.trial, {})[stage.duty] = None
    return tuple((tuple(names), trial) for trial, names in duties.items())


def kicks_text(scenario: Scenario) -> str:
    """Say in one line what the chances of tipping rest on."""
    found = fitted_kicks(scenario)
    if not found:
        return "assumed kicks: no trial has fitted them"
    words = [f"kicks of {', '.join(duties)} fitted to {trial}" for duties, trial in found]
    left = dict.fromkeys(s.duty for s in scenario.stages if not s.kicks.trial)
    if left:
        words.append(f"kicks of {', '.join(left)} assumed")
    return "; ".join(words)
