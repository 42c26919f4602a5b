"""Tables of runs that are in no headline: starts on dry mix, aged and planted pots, other parts of the pour."""

from __future__ import annotations

import numpy as np
import polars as pl

from pipeline.compare.contrasts.cells import Cells
from pipeline.compare.contrasts.independence import independence
from pipeline.compare.contrasts.selection import cells_of, ties_of
from pipeline.compare.model.design import headline_design
from pipeline.compare.model.estimate import estimate, members_at
from pipeline.compare.model.prediction import NEEDED_FOR_MEAN, predict
from pipeline.compare.values.chance_lines import interval
from pipeline.compare.verdict.answer import Answer, connected
from pipeline.settings import Settings
from schemas.results.details import ApartLine, ApartValue
from schemas.trade.headline import AGED, DRY, OTHER_PART, PLANTED, only


def apart_value(every: pl.DataFrame, fresh: Answer, settings: Settings) -> dict[str, ApartValue]:
    """Tables of starts on dry mix, aged and planted pots and other parts of the pour: in no headline."""
    value: dict[str, ApartValue] = {}
    for reason in (DRY, AGED, PLANTED, OTHER_PART):
        runs = every.filter(only(reason))
        first = runs.filter(
            pl.col("pour_no") == pl.col("pour_no").min().over("series_code", "component_share", "pot_no")
        )
        value[reason.name] = {
            "runs": runs.height,
            "shares": _plain_table(cells_of(first, settings.stopwatch_step_s), first, fresh),
        }
    return value


def _plain_table(cells: Cells, runs: pl.DataFrame, fresh: Answer) -> list[ApartLine]:
    """Counts per share, with ratio and interval where 3 growers have a baseline of the same kind."""
    effects = connected(cells, fresh.repeatability.sd)
    lines: list[ApartLine] = []
    if not np.any(effects.based):
        return lines
    counted = effects.member[effects.based].tolist()
    independent = independence(effects.member.tolist(), ties_of(runs), counted)
    design = headline_design(effects, independent)
    members = members_at(design)
    estimated = (
        estimate(design)
        if members.max() >= NEEDED_FOR_MEAN and len(effects) > design.layout.X.shape[1]
        else None
    )
    prediction = None if estimated is None else predict(estimated, fresh.repeatability.sd**2, 1.25)
    for j, share in enumerate(design.shares):
        line: ApartLine = {"share": float(share), "members": int(members[j]), "ratio": None, "ci": None}
        if estimated is not None and prediction is not None and members[j] >= NEEDED_FOR_MEAN:
            line["ratio"] = float(np.exp(estimated.mean[j]))
            line["ci"] = interval(prediction.low[j], prediction.high[j])
        if line["ci"] is None:
            line["why"] = f"Fewer than {NEEDED_FOR_MEAN} growers with a baseline of the same kind."
        lines.append(line)
    return lines
