"""The settings file: the commented one that a new pool gets, and what is said of a line that can't be taken."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from pipeline.errors import DrainpoolError
from pipeline.settings import Settings, read_settings, settings_text
from schemas.settings import SETTINGS


def test_a_new_pools_file_changes_nothing_until_a_line_is_opened(tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    path.write_text(settings_text(), encoding="utf-8")
    assert read_settings(path) == Settings()


def test_words_that_a_club_has_not_said_are_no_settings() -> None:
    assert not {"run_by", "licence"} & set(Settings().as_values())
    assert Settings(run_by="a club").as_values()["run_by"] == "a club"


def test_every_line_of_it_can_be_opened_as_it_stands() -> None:
    names = {setting.name for setting in SETTINGS}
    opened = "\n".join(line[2:] for line in settings_text().splitlines() if line[2:].split(" = ")[0] in names)
    values = tomllib.loads(opened)
    assert set(values) == names
    assert {setting.name: setting.default for setting in SETTINGS} == {
        name: tuple(value)
        if isinstance(value, list)
        else pytest.approx(value)
        if not isinstance(value, str)
        else value
        for name, value in values.items()
    }


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("target_ratio = 0.9", "between 1.01 and 10"),
        ("target_ratio = true", "between 1.01 and 10"),
        ("assurance = nan", "between 0.5 and 0.99"),
        ("target = 2", "does not know"),
        ("target_ratio 2", "can't be read"),
        ('pool_name = ""', "1 to 80 characters"),
        (f'licence = "{"x" * 81}"', "0 to 80 characters"),
        ("small_shares = [15, 120]", "between 0 and 100"),
    ],
)
def test_a_line_that_cannot_be_taken_is_worded(tmp_path: Path, line: str, words: str) -> None:
    path = tmp_path / "settings.toml"
    path.write_text(line, encoding="utf-8")
    with pytest.raises(DrainpoolError, match=words):
        read_settings(path)
