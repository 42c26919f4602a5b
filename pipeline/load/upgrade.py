"""Bringing an older store up to the tables of this drainpool, step by step from version 1."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pipeline.load import store
from schemas.store import STORE_VERSION

STEPS: Mapping[int, Sequence[str]] = {}
"""Version before -> the statements that make it the next version. Version 1 is the first one released."""


def bring_up(
    connection: store.Connection,
    version: int,
    steps: Mapping[int, Sequence[str]] = STEPS,
    newest: int = STORE_VERSION,
) -> None:
    """Carries out the steps from `version` to the newest, in one transaction; nothing where it is newest."""
    if version >= newest:
        return
    connection.begin()
    try:
        for step in range(version, newest):
            for statement in steps[step]:
                connection.execute(statement)
        connection.execute("UPDATE meta SET value = ? WHERE name = 'version'", [str(newest)])
        connection.commit()
    except BaseException:
        connection.rollback()
        raise
