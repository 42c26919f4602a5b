"""Every registered kind of sheet hangs together: names, units, limits, vocabularies, and what names a row."""

from __future__ import annotations

import pytest

from schemas.frame_types import STORED_AS
from schemas.kinds.kind import SheetKind
from schemas.kinds.registry import KINDS, kind_named
from schemas.kinds.run import RUN
from schemas.vocabulary import CHOICES

KIND = pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)
ENDINGS = {"ml": "_ml", "s": "_s", "cm": "_cm", "mm": "_mm", "h": "_h", "days": "_days", "°C": "_c"}


@KIND
def test_every_name_stands_once(kind: SheetKind) -> None:
    sheet = [column.name for column in kind.columns]
    assert len(sheet) == len(set(sheet))
    assert len(kind.kept_names) == len(set(kind.kept_names))


@KIND
def test_a_kept_name_is_the_sheet_name_with_its_unit(kind: SheetKind) -> None:
    for column in kind.columns:
        if column.kept is None:
            assert column.into in kind.kept_names, column.name
        else:
            assert column.kept.name == column.name + ENDINGS.get(column.kept.unit, ""), column.name


@KIND
def test_what_a_row_is_named_by_is_kept_and_never_blank(kind: SheetKind) -> None:
    assert kind.series_keys == tuple(f"{name}_key" for name in kind.series)
    for kept in kind.kept:
        if kept.name in kind.run_keys:
            assert not kept.nullable, kept.name
    assert set(kind.run_keys) <= set(kind.kept_names)


@KIND
def test_every_number_has_limits_and_every_vocabulary_is_there(kind: SheetKind) -> None:
    for kept in kind.kept:
        assert (kept.limits is not None) == (kept.frame in ("number", "whole")), kept.name
    for column in kind.columns:
        assert column.choices is None or column.choices in CHOICES, column.name
        words = [choice.value for choice in CHOICES[column.choices]] if column.choices else []
        for word in (column.when_blank, column.not_given):
            assert word is None or word in words, column.name


@KIND
def test_what_stays_the_same_or_comes_of_the_series_is_kept(kind: SheetKind) -> None:
    for column in kind.columns:
        if column.same_in_series != "no" or column.takes_series_own or column.same_run_may_differ:
            assert column.kept is not None, column.name
        assert set(column.same_within) <= set(kind.kept_names), column.name


@KIND
def test_a_blank_cell_is_allowed_where_the_pool_may_hold_none(kind: SheetKind) -> None:
    for column in kind.columns:
        if column.kept is not None and column.required == "no":
            assert column.kept.nullable == (column.when_blank is None), column.name


def test_kinds_share_frame_types_of_columns_of_one_name() -> None:
    types: dict[str, set[str]] = {}
    for kind in KINDS.values():
        for kept in kind.kept:
            types.setdefault(kept.name, set()).add(kept.frame)
    assert all(len(frames) == 1 for frames in types.values())
    assert {frame for frames in types.values() for frame in frames} <= set(STORED_AS)


def test_a_kind_is_found_by_its_name_and_no_other() -> None:
    assert kind_named("run") is RUN
    assert (
        len({kind.name for kind in KINDS.values()})
        == len({kind.title for kind in KINDS.values()})
        == len(KINDS)
    )
    with pytest.raises(KeyError):
        kind_named("no such kind")


def test_the_order_of_an_accepted_run_stands() -> None:
    """Store and row hashes go by this order: new columns come where the sheet has them, none moves."""
    names = RUN.kept_names
    assert names[:4] == ("member", "series", "member_key", "series_key")
    assert names.index("pot_volume_computed") == names.index("pot_volume_ml") + 1
    assert names[-4:] == ("submission", "sheet_row", "part_marked", "unlike_pour")
    assert RUN.run_keys == ("member_key", "series_key", "component_share", "pot_no", "pour_no")


def test_a_derived_column_behind_nothing_is_refused() -> None:
    from dataclasses import replace

    lost = replace(RUN.derived[0], after="no_such_column")
    with pytest.raises(ValueError, match="no_such_column"):
        _ = replace(RUN, derived=(lost,)).kept
