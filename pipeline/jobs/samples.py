"""The invented samples that come with drainpool, and how a pool made from them is known."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable

SAMPLES = "contrib_samples"
DEMO = "demo"


def demo_months() -> list[str]:
    """The months of the demo's pool, in order."""
    return sorted(entry.name for entry in files(SAMPLES).joinpath(DEMO).iterdir() if entry.is_dir())


def demo_sheets(month: str) -> list[tuple[str, bytes]]:
    """Name and bytes of each sheet that the demo's members sent in a month, by name."""
    folder = files(SAMPLES).joinpath(DEMO, month)
    return sorted((entry.name, entry.read_bytes()) for entry in folder.iterdir() if is_sample(entry))


def any_invented(submissions: Iterable[str]) -> bool:
    """Whether any of these content hashes is the hash of a sample: then the pool holds invented data."""
    return not sample_hashes().isdisjoint(submissions)


@cache
def sample_hashes() -> frozenset[str]:
    """SHA-256 of every sample sheet that comes with drainpool."""
    return frozenset(hashlib.sha256(entry.read_bytes()).hexdigest() for entry in _all_samples(files(SAMPLES)))


def is_sample(entry: Traversable) -> bool:
    """Whether an entry of the samples is a run sheet."""
    return entry.is_file() and entry.name.lower().endswith((".csv", ".xlsx", ".tsv"))


def _all_samples(folder: Traversable) -> Iterator[Traversable]:
    for entry in folder.iterdir():
        if entry.is_dir():
            yield from _all_samples(entry)
        elif is_sample(entry):
            yield entry
