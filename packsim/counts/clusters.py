"""Tips that hang together: a can that tips beside one that is down belongs to its cluster."""

from collections.abc import Iterable
from dataclasses import dataclass

from packsim.passage.record import Event


@dataclass(frozen=True, slots=True)
class Cluster:
    """Tips that hang together.

    Parameters
    ----------
    tips : int
        Cans that tipped: a first one and those that tipped beside it, or beside one of these.
    length_mm : float
        Length of pack disturbed: along the mat from the first of these cans to the last, each with
        its own length [mm].
    stage : int
        Index of the stage in which the first tipped.
    """

    tips: int
    length_mm: float
    stage: int = 0


def clusters_of(
    events: Iterable[Event], body_mm: float, period_mm: float = 0.0
) -> tuple[Cluster, ...]:
    """Return the clusters that tips form.

    Parameters
    ----------
    events : iterable of Event
        The tips, in time order.
    body_mm : float
        Length of mat that a tipped can takes [mm].
    period_mm : float
        Length of a periodic slice, 0 for a whole line [mm].

    Returns
    -------
    tuple of Cluster
        In the order of their first tips. A tip beside a can outside ``events`` is a first one.
    """
    first: dict[int, int] = {}
    places: dict[int, list[float]] = {}
    stage: dict[int, int] = {}
    for event in events:
        of = first.get(event.beside, event.can)
        first[event.can] = of
        stage.setdefault(of, event.stage)
        begin = places.setdefault(of, [event.mat_mm])[0]
        away = event.mat_mm - begin
        if period_mm:
            away -= round(away / period_mm) * period_mm
        places[of].append(begin + away)
    return tuple(
        Cluster(len(at) - 1, max(at) - min(at) + body_mm, stage[of]) for of, at in places.items()
    )
