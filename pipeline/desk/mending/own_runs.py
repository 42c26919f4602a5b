"""A member's own runs as they will stand: those in force, and what their sheets in the inbox add and mend."""

from __future__ import annotations

from typing import Any

from pipeline.desk.mending.series_form import same_place
from pipeline.desk.pool.own import of_member
from pipeline.desk.web.desk import Desk
from pipeline.jobs.receiving.accepted_rows import names_sent_by
from schemas.trade.labels import label_key


def own_runs(desk: Desk, code: str, series: str | None = None) -> list[dict[str, Any]]:
    """The runs of a member, or of one of their series: in force or waiting for an answer, then each sheet in the inbox over them. Slow: call it
    off the event loop."""
    key = label_key(code)
    standing = of_member(desk.reader.view().standing, code).to_dicts()
    senders = {code} | {kept.sent_by for kept in desk.kept_sheets.receipts(code) if kept.sent_by}
    names = names_sent_by(desk.pool, senders)
    waiting = desk.reader.waiting_rows(names, desk.clock().date()) if names else []
    for run in waiting:
        if run["member_key"] == key:
            standing = [
                earlier
                for earlier in standing
                if earlier["series_key"] != run["series_key"] or not same_place(earlier, run)
            ]
            standing.append(run)
    wanted = None if series is None else label_key(series)
    return [run for run in standing if wanted is None or run["series_key"] == wanted]
