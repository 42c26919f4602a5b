"""A kind of sheet as a value: its columns, what names one of its rows, which rules look across its rows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from schemas.column import Column, Derived, Kept


@dataclass(frozen=True, eq=False)
class SheetKind:
    """One kind of sheet. Two kinds are the same only where they are the same object.

    `name`: a short word for journal and tables. `title`: what people call it, such as `run sheet`; `row`: what one row is, such as `pour`.
    `series`: sheet columns that name a series; each has a derived key. `place`: kept columns that name a row
    inside its series, the ones that a mending is matched by. `one_of`: groups of columns of which one must
    stand whole. `conversions`: what intake makes of several cells of a row together. `series_rules`: ids of
    the rules that the rows of a series are asked together. `sentences`: what the catalogue's sentences say of
    this kind alone, by their placeholder.
    """

    name: str
    title: str
    row: str
    columns: tuple[Column, ...]
    derived: tuple[Derived, ...]
    place: tuple[str, ...]
    series: tuple[str, ...] = ("member", "series")
    one_of: tuple[tuple[str, ...], ...] = ()
    conversions: tuple[str, ...] = ()
    series_rules: tuple[str, ...] = ()
    sentences: Mapping[str, str] = field(default_factory=dict)

    @cached_property
    def words(self) -> Mapping[str, str]:
        """What fills the placeholders of the catalogue that speak of the kind."""
        return {"sheet": self.title, "place": "place", "number_one": "", "number_all": "", **self.sentences}

    @cached_property
    def kept(self) -> tuple[Kept, ...]:
        """The columns of an accepted row, in the order of frame and store."""
        behind: dict[str, list[Kept]] = {}
        for derived in self.derived:
            behind.setdefault(derived.after, []).append(derived.kept)
        ordered: list[Kept] = []
        for column in self.columns:
            if column.kept is not None:
                ordered += [column.kept, *behind.pop(column.kept.name, [])]
        ordered += behind.pop("", [])
        if behind:
            raise ValueError(f"no kept column is called {', '.join(behind)}")
        return tuple(ordered)

    @cached_property
    def kept_names(self) -> tuple[str, ...]:
        """Names of the columns of an accepted row, in order."""
        return tuple(kept.name for kept in self.kept)

    @cached_property
    def by_name(self) -> Mapping[str, Column]:
        """The sheet's columns by name."""
        return {column.name: column for column in self.columns}

    @cached_property
    def by_kept_name(self) -> Mapping[str, Column]:
        """The sheet's columns by the name that the pool keeps them under."""
        return {column.kept.name: column for column in self.columns if column.kept is not None}

    @cached_property
    def must_stand(self) -> tuple[str, ...]:
        """Names of the columns without which a sheet is not whole; `one_of` comes beside them."""
        return tuple(column.name for column in self.columns if column.required in ("yes", "may be blank"))

    @cached_property
    def derived_names(self) -> frozenset[str]:
        """Names of the kept columns that no member fills in."""
        return frozenset(derived.kept.name for derived in self.derived)

    @cached_property
    def series_keys(self) -> tuple[str, ...]:
        """The derived columns by which the rows of one series are found, in the order of `series`."""
        keys = {derived.key_of: derived.kept.name for derived in self.derived if derived.key_of}
        return tuple(keys[name] for name in self.series)

    @cached_property
    def run_keys(self) -> tuple[str, ...]:
        """The kept columns that name one row: those of its series, then its place in it."""
        return (*self.series_keys, *self.place)

    def sheet_name(self, kept_name: str) -> str:
        """The sheet's name of a kept column: `drain_time` for `drain_time_s`; a derived one keeps its name."""
        column = self.by_kept_name.get(kept_name)
        return kept_name if column is None else column.name
