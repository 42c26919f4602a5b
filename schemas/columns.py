"""The run sheet's columns and those of an accepted run, taken from `schemas.kinds.run.RUN`."""

from __future__ import annotations

from schemas.kinds.run import RUN

SHEET_COLUMNS = RUN.columns
RUN_COLUMNS = RUN.kept
RUN_COLUMN_NAMES = RUN.kept_names
