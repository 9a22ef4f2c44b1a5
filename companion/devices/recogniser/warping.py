"""Distance between two rows of embeddings whose time runs differently.

Dynamic time warping after Sakoe and Chiba, "Dynamic programming algorithm optimization for
spoken word recognition", IEEE Trans. ASSP 26 (1978) 43-49, in its plain symmetric form, with the
cosine distance between rows.
"""

from collections.abc import Sequence

import numpy as np

from companion.devices.recogniser.embedding import Embeddings


def distances(query: Embeddings, templates: Sequence[Embeddings]) -> list[float]:
    """Return the warped distance of `query` to each template, 0 (alike) to about 1."""
    if not templates:
        return []
    lengths = [len(template) for template in templates]
    costs = np.ones((len(templates), len(query), max(lengths)))
    for cost, template in zip(costs, templates, strict=True):
        cost[:, : len(template)] = 1.0 - query @ template.T
    totals = _warped(costs)
    pairs = enumerate(lengths)
    return [float(totals[index, length]) / (len(query) + length) for index, length in pairs]


def _warped(costs: np.ndarray) -> np.ndarray:
    """Return the least total cost from the start to the end of the query, for every end column."""
    count, rows, columns = costs.shape
    above = np.full((count, columns + 1), np.inf)
    above[:, 0] = 0.0
    for row in range(rows):
        here = np.full((count, columns + 1), np.inf)
        for column in range(columns):
            reached = np.minimum(above[:, column], above[:, column + 1])
            here[:, column + 1] = costs[:, row, column] + np.minimum(reached, here[:, column])
        above = here
    return above
