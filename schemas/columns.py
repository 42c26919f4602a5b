"""The run sheet's columns and those of an accepted run, by their old names; both are in `schemas.kinds.run.RUN`."""

from __future__ import annotations

from schemas.column import Column as SheetColumn
from schemas.column import FrameType as Frame
from schemas.column import Kept as RunColumn
from schemas.column import ValueKind as Kind
from schemas.kinds.run import RUN

__all__ = ["RUN_COLUMNS", "RUN_COLUMN_NAMES", "SHEET_COLUMNS", "Frame", "Kind", "RunColumn", "SheetColumn"]

SHEET_COLUMNS: tuple[SheetColumn, ...] = RUN.columns
RUN_COLUMNS: tuple[RunColumn, ...] = RUN.kept
RUN_COLUMN_NAMES: tuple[str, ...] = RUN.kept_names
