"""The architecture as a test: one direction of imports, stages that never meet, heavy libraries at home."""

from __future__ import annotations

import ast
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("schemas", "reports", "pipeline", "contrib_samples")

HOMES: dict[str, tuple[str, ...]] = {
    "duckdb": ("pipeline/load/",),
    "prefect": ("pipeline/flows.py",),
    "altair": ("reports/",),
    "vl_convert": ("reports/",),
    "pandera": ("schemas/row_model.py", "pipeline/check/shape.py"),
    "scipy": ("pipeline/compare/", "pipeline/plan/"),
    "fastexcel": ("pipeline/intake/",),
    "filelock": ("pipeline/load/", "pipeline/desk/accounts/book.py"),
    "jinja2": ("reports/", "pipeline/desk/web/render.py"),
    "starlette": ("pipeline/desk/",),
    "uvicorn": ("pipeline/desk/serve.py",),
    "argon2": ("pipeline/desk/accounts/passphrases.py",),
}


def source_files() -> list[Path]:
    """Every committed-looking python file of the tool, tests left out."""
    return sorted(path for package in PACKAGES for path in (ROOT / package).rglob("*.py"))


def imported(path: Path) -> set[str]:
    """Full dotted names that a file imports, inside functions too."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import; write the whole name"
            names |= {node.module or "", *(f"{node.module}.{alias.name}" for alias in node.names)}
    return names


def room(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def starts(name: str, *packages: str) -> bool:
    return any(name == package or name.startswith(package + ".") for package in packages)


def test_imports_run_one_way_and_stages_never_meet() -> None:
    """The layers written in pyproject.toml: pipeline over reports over schemas; in pipeline, commands over jobs
    over stages, and the stages independent of one another; the rooms inside commands, desk and jobs."""
    done = subprocess.run(
        [str(Path(sys.executable).with_name("lint-imports")), "--no-logo"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout[-3000:]
    contracts = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["importlinter"]
    assert f"Contracts: {len(contracts['contracts'])} kept, 0 broken." in done.stdout


@pytest.mark.parametrize("library", sorted(HOMES))
def test_heavy_libraries_stay_at_home(library: str) -> None:
    homes = HOMES[library]
    users = {room(path) for path in source_files() if any(starts(name, library) for name in imported(path))}
    assert users, f"{library} is declared but used nowhere"
    assert {user for user in users if not user.startswith(homes)} == set()


def test_pandas_and_statsmodels_stay_out() -> None:
    wrong = [
        (room(path), name)
        for path in source_files()
        for name in imported(path)
        if starts(name, "pandas", "statsmodels")
    ]
    assert wrong == []
