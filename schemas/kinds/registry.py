"""Every kind of sheet that this version reads, the run sheet first: what fits two kinds alike is read as the first."""

from __future__ import annotations

from schemas.kinds.kind import SheetKind
from schemas.kinds.run import RUN

KINDS: dict[str, SheetKind] = {kind.name: kind for kind in (RUN,)}


def kind_named(name: str) -> SheetKind:
    """The kind of that name. Raises KeyError where this version has none."""
    return KINDS[name]
