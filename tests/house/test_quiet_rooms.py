"""Quiet by default: only the rooms named here may touch disk, network, clock, environment or chance."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]

DISK = {
    "open",
    "read_text",
    "write_text",
    "read_bytes",
    "write_bytes",
    "mkdir",
    "unlink",
    "rename",
    "replace_file",
    "rmtree",
    "copyfile",
    "iterdir",
    "glob",
    "rglob",
    "exists",
    "is_file",
    "is_dir",
    "touch",
}
CLOCK = {"now", "utcnow", "today", "time", "perf_counter", "monotonic", "sleep"}
CHANCE = {"default_rng", "random", "seed", "uuid4", "token_urlsafe", "token_hex"}
TALK = {"print", "input"}
NETWORK = {"urlopen", "create_connection"}
ENVIRONMENT = {"environ", "getenv", "getuser"}

# room (a folder or a file) -> what it may touch, and why
LOUD: dict[str, tuple[set[str], str]] = {
    "pipeline/load/": (DISK | CLOCK, "keeps the pool on disk and stamps the journal"),
    "pipeline/jobs/": (DISK | CLOCK, "the edge where files come in and months go out"),
    "pipeline/cli.py": (DISK | CLOCK | TALK | ENVIRONMENT, "the command line"),
    "pipeline/commands/": (DISK | CLOCK | TALK | ENVIRONMENT, "the command line"),
    "pipeline/flows.py": (DISK | CLOCK | ENVIRONMENT, "sets Prefect up inside the pool"),
    "pipeline/desk/accounts/book.py": (DISK, "keeps the desk's accounts file"),
    "pipeline/desk/sheets/receipts.py": (DISK, "keeps receipts, and checked sheets until they are sent"),
    "pipeline/desk/pool/month_runs.py": (DISK, "starts the month's command and reads what it says"),
    "pipeline/desk/pool/reports.py": (DISK, "finds the report pages to show"),
    "pipeline/desk/pool/reader.py": (DISK, "sees which readers' copy is the newest"),
    "pipeline/desk/pages/assets.py": (DISK, "reads the packaged style and script"),
    "pipeline/desk/serve.py": (DISK | CLOCK, "opens the desk: its folder, the clock, the network"),
    "pipeline/desk/erasing.py": (DISK, "looks whether the pool has a desk to erase from"),
    "pipeline/settings.py": (DISK, "reads settings.toml"),
    "reports/publish.py": (DISK, "the one room of reports that writes"),
    "contrib_samples/": (DISK | CHANCE | TALK, "makes the samples anew, from a fixed seed"),
}


def calls(path: Path) -> set[str]:
    """Bare names of everything a file calls, and of attributes of os that read the environment."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call):
            target = node.func
            if isinstance(target, ast.Name):
                found.add(target.id)
            elif isinstance(target, ast.Attribute):
                owner = target.value
                # frame methods share these names: pl.col(...).time() or frame.glob are no clock and no disk
                if target.attr in CLOCK | {"random", "seed"} and not (
                    isinstance(owner, ast.Name)
                    and owner.id in {"time", "datetime", "date", "random", "rng", "os"}
                ):
                    continue
                found.add(target.attr)
        elif isinstance(node, ast.Attribute) and node.attr == "environ":
            found.add("environ")
    return found


def source_files() -> list[Path]:
    packages = ("schemas", "reports", "pipeline", "contrib_samples")
    return sorted(path for package in packages for path in (ROOT / package).rglob("*.py"))


@pytest.mark.parametrize("path", source_files(), ids=lambda path: path.relative_to(ROOT).as_posix())
def test_only_named_rooms_are_loud(path: Path) -> None:
    name = path.relative_to(ROOT).as_posix()
    allowed: set[str] = set()
    for place, (what, _because) in LOUD.items():
        if name.startswith(place):
            allowed |= what
    heard = calls(path) & (DISK | CLOCK | CHANCE | TALK | NETWORK | ENVIRONMENT)
    assert heard <= allowed, (
        f"{name} calls {sorted(heard - allowed)}; pass it in, or name the room with a reason"
    )


def test_every_loud_room_exists() -> None:
    gone = [place for place in LOUD if place != "pipeline/commands/" and not (ROOT / place).exists()]
    assert gone == []
