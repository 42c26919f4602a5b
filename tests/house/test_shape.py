"""The shape of the code: short files and functions, names that say something, nothing left over, clean under the checkers."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("schemas", "reports", "pipeline", "contrib_samples")
SOURCES = sorted(path for package in PACKAGES for path in (ROOT / package).rglob("*.py"))
TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "pipeline",
    "schemas",
    "tests",
    "contrib_samples",
    "reports",
}
SAY_NOTHING = {"utils", "util", "helpers", "helper", "common", "misc", "base", "manager"}


def committed() -> list[str]:
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True)
    return listed.stdout.splitlines()


def test_top_level_is_what_the_owner_fixed() -> None:
    tops = {name.split("/")[0] for name in committed()}
    assert {top for top in tops if not top.startswith(".")} <= TOP_LEVEL


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_files_and_functions_are_short(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= 350
    long = [
        (node.name, length)
        for node in ast.walk(ast.parse(text))
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef))
        and (length := (node.end_lineno or 0) - node.lineno + 1) > 60
    ]
    assert long == []


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_public_things_say_what_they_are(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    assert (path.name == "__init__.py" and not tree.body) or ast.get_docstring(tree), (
        "a module opens with what it is for"
    )
    bare = [
        node.name
        for node in tree.body
        if isinstance(node, (ast.FunctionDef, ast.ClassDef))
        and not node.name.startswith("_")
        and not ast.get_docstring(node)
    ]
    assert bare == []


def test_no_file_name_says_nothing() -> None:
    assert [path for path in SOURCES if path.stem in SAY_NOTHING] == []


def test_nothing_is_left_over() -> None:
    marks = re.compile(r"\b(TO" + r"DO|FIX" + r"ME|X" + r"XX)\b")
    left = [path.name for path in SOURCES if marks.search(path.read_text(encoding="utf-8"))]
    assert left == []


def test_no_machine_path_or_registry_address_is_committed() -> None:
    odd = re.compile("(?<!no-emit-)index-" + "url|/simp" + "le/|" + re.escape(f"{ROOT}/"))
    here = Path(__file__).name
    found = []
    for name in committed():
        if Path(name).suffix in {".py", ".md", ".toml", ".txt", ".json", ""} and not name.endswith(here):
            text = (
                (ROOT / name).read_text(encoding="utf-8", errors="replace") if (ROOT / name).exists() else ""
            )
            if odd.search(text):
                found.append(name)
    assert found == []


@pytest.mark.parametrize(
    "words", [["ruff", "check", "."], ["ruff", "format", "--check", "."], ["mypy"]], ids=" ".join
)
def test_checkers_are_clean(words: list[str]) -> None:
    done = subprocess.run(
        [sys.executable, "-m", *words], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, (done.stdout + done.stderr)[-3000:]
