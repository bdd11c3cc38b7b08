"""Which things hang together: connected components by label passing, all in arrays."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def components(count: int, links: NDArray[np.int64]) -> tuple[int, NDArray[np.int64]]:
    """Find the connected components of a graph and number them.

    Parameters
    ----------
    count : int
        Number of nodes.
    links : ndarray of int, shape (m, 2)
        Linked nodes; loops and repeats do no harm.

    Returns
    -------
    number : int
        Number of components.
    label : ndarray of int, shape (count,)
        Component of each node, 0 up to number − 1, in the order of their lowest nodes.

    Notes
    -----
    Each round hooks the higher of two linked roots onto the lower and then lets every node point
    at its root (pointer jumping). A long chain takes a few rounds, not one per link.

    Examples
    --------
    >>> number, label = components(4, np.array([[3, 1]]))
    >>> number, label.tolist()
    (3, [0, 1, 2, 1])
    """
    root = np.arange(count)
    while len(links):
        ends = root[links]
        apart = ends[:, 0] != ends[:, 1]
        links, ends = links[apart], ends[apart]
        np.minimum.at(root, ends.max(axis=1), ends.min(axis=1))
        while (root[root] != root).any():
            root = root[root]
    kept, label = np.unique(root, return_inverse=True)
    return len(kept), label
