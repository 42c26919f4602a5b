"""The documents under test: the map matches the folders, commands and settings are documented, README's commands run."""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.story.pool_fixture import PATIENCE_S

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8") if (ROOT / "DEVELOPERS.md").exists() else ""
MONTHS_AND_MORE = {"__pycache__"}


def console_lines() -> list[str]:
    """Every command of README's console blocks, in order."""
    blocks = re.findall(r"```console\n(.*?)```", README, flags=re.S)
    return [line for block in blocks for line in block.splitlines() if line.strip()]


def test_readme_opens_with_the_job_in_one_paragraph() -> None:
    first = next(part for part in README.split("\n\n") if not part.startswith("#"))
    for word in ("growers", "decide", "clubs", "run sheets", "how much is enough"):
        assert word.lower() in first.lower()


def rooms_inside(package: Path) -> list[Path]:
    """Sub-packages of the packages in a package: folders of Python files one level further down."""
    return [path.parent for path in package.glob("*/*/__init__.py")]


def test_the_map_names_every_folder_and_none_besides() -> None:
    named = set(re.findall(r"^\s*- `([a-z_./]+/)`", DEVELOPERS, flags=re.M))
    folders = {
        f"{path.relative_to(ROOT).as_posix()}/"
        for package in ("schemas", "reports", "pipeline", "contrib_samples", "tests")
        for path in [ROOT / package, *(ROOT / package).iterdir(), *rooms_inside(ROOT / package)]
        if path.is_dir() and path.name not in MONTHS_AND_MORE
    }
    assert named == folders


def test_every_command_is_in_readme_or_named_in_developers() -> None:
    told = subprocess.run(
        [sys.executable, "-m", "pipeline.cli", "--help"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    commands = re.findall(r"^    ([a-z]+)  ", told.stdout, flags=re.M)
    assert len(commands) >= 8
    missing = [name for name in commands if f"drainpool {name}" not in README]
    assert missing == []


def test_every_setting_is_described_once_and_read() -> None:
    from dataclasses import fields

    from pipeline.settings import Settings
    from schemas.settings import SETTINGS

    defaults = {field.name: field.default for field in fields(Settings)}
    assert {setting.name: setting.default for setting in SETTINGS} == defaults
    assert all(setting.meaning and setting.source for setting in SETTINGS)


def test_every_column_has_a_meaning_and_one_name() -> None:
    from schemas.kinds.run import RUN

    for table in (RUN.columns, RUN.kept):
        names = [column.name for column in table]
        assert len(names) == len(set(names))
        assert all(column.meaning.endswith((".", "?")) for column in table)


@pytest.mark.deep
def test_readme_commands_run_in_a_fresh_folder(tmp_path: Path) -> None:
    """Types every command of README, in order, in a folder that holds only the samples."""
    shutil.copytree(ROOT / "contrib_samples", tmp_path / "contrib_samples")
    tool = Path(sys.executable).with_name("drainpool")
    environment = {**os.environ, "PATH": f"{tool.parent}{os.pathsep}{os.environ['PATH']}"}
    for line in console_lines():
        assert shlex.split(line)[0] == "drainpool"
        done = subprocess.run(
            ["bash", "-c", line],
            cwd=tmp_path,
            env=environment,
            capture_output=True,
            text=True,
            check=False,
            timeout=PATIENCE_S,
        )
        assert done.returncode in (0, 1), f"{line}\n{done.stdout}{done.stderr}"
        assert "Traceback" not in done.stderr
    assert (tmp_path / "our-pool" / "reports" / "2026-04" / "index.html").exists()
    assert (tmp_path / "my_tests.xlsx").exists()


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md"])
def test_links_inside_the_project_lead_somewhere(name: str) -> None:
    text = (ROOT / name).read_text(encoding="utf-8")
    targets = [target for target in re.findall(r"\]\(([^)#]+)\)", text) if "://" not in target]
    assert [target for target in targets if not (ROOT / target).exists()] == []
