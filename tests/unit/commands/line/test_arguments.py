"""What may be typed: every command of the contract, and plain words with exit code 64 for what is wrong."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.commands.line.arguments import build_parser, parse
from pipeline.errors import WrongUseError

COMMANDS = ("demo", "sheet", "check", "load", "month", "query", "withdraw", "restore")


def test_the_commands_of_the_contract(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as leaving:
        build_parser().parse_args(["--help"])
    assert leaving.value.code == 0
    told = capsys.readouterr().out
    assert all(f"\n    {command} " in told for command in COMMANDS)
    assert "64" in told


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_explains_itself(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as leaving:
        parse([command, "--help"])
    assert leaving.value.code == 0
    assert f"drainpool {command}" in capsys.readouterr().out


@pytest.mark.parametrize(
    "typed",
    [
        "demo",
        "demo --pool d --by-whom Ann",
        "sheet",
        "sheet --format xlsx",
        "check a.csv b.csv --pool d --format json",
        "load a.csv --pool d --received 2026-03-01 --whole-series --format text --by-whom Ann",
        "month 2026-03 --pool d --correct --reason typo --publish",
        "query --pool d --climate Cfb,Csb --pot-volume 0.5l..2l --setup rack --grade fine --component perlite "
        "--base coir --since 2026-01-01 --until 2026-02-01 --by climate --format csv",
        "withdraw --pool d --member m --series s --reason because",
        "withdraw --pool d --submission abcdef01 --reason because",
        "restore --pool d --member m --reason because --by-whom Ann",
    ],
)
def test_the_contract_can_be_typed(typed: str) -> None:
    assert parse(typed.split()).command == typed.split()[0]


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("", "Which command?"),
        ("bake", "bake"),
        ("check", "FILE"),
        ("load a.csv", "--pool"),
        ("load a.csv --pool", "--pool needs a value"),
        ("month --pool d", "YYYY-MM"),
        ("check a.csv --format xml", "xml"),
        ("query --pool d --by pots", "pots"),
        ("query --pool d --colour red", "--colour"),
        ("withdraw --pool d --reason because", "--member"),
        ("withdraw --pool d --member m", "--reason"),
        ("withdraw --pool d --member m --submission abc --reason because", "--submission"),
        ("month 2026-03 --poo d", "--pool"),
    ],
)
def test_wrong_use_is_one_plain_sentence(typed: str, words: str) -> None:
    with pytest.raises(WrongUseError) as failure:
        parse(typed.split())
    assert words in str(failure.value)
    assert "\n" not in str(failure.value) and "Try: drainpool" in str(failure.value)
    assert failure.value.exit_code == 64


def test_defaults() -> None:
    assert parse(["demo"]).pool == Path("drainpool-demo")
    assert parse(["check", "a.csv"]).format == "text"
    assert parse(["query", "--pool", "d"]).format == "table"
