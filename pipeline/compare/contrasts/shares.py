"""Which shares count as one: a share close to one that more members measured joins it and takes its value."""

from __future__ import annotations

import numpy as np

from pipeline.compare.arrays import Floats, Whole
from schemas.trade.shares import JOINS_WITHIN, ROUNDING


def merged_shares(share: Floats, member: Whole) -> Floats:
    """For each row (a mix measured by a member), the share it counts as, in percent.

    Shares are taken in order of how many members measured them (ties: the smaller first); each takes those within
    2 points that are still free. Share 0 stays itself and takes none.
    """
    distinct = np.unique(share[share > 0])
    counts = np.array([len(np.unique(member[share == measured])) for measured in distinct])
    takes = np.full(len(distinct), np.nan)
    for leader in np.lexsort((distinct, -counts)):
        if np.isnan(takes[leader]):
            near = np.abs(distinct - distinct[leader]) <= JOINS_WITHIN + ROUNDING
            takes[near & np.isnan(takes)] = distinct[leader]
    result = share.copy()
    positive = share > 0
    result[positive] = takes[np.searchsorted(distinct, share[positive])]
    return result
