"""Every command's wrong uses: exit code 64, one sentence on standard error, nothing on standard output or on disk."""

from __future__ import annotations

import argparse
import string
from functools import cache
from importlib import import_module
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.commands.line.arguments import build_parser, parse
from pipeline.errors import WrongUseError
from tests.rounds import examples
from tests.story.pool_fixture import drainpool

WRONG = (
    # what is needed and was not typed
    "held",
    "answer keep --pool P --reason because",
    "answer --pool P --member m --reason because",
    "answer keep --pool P --member m",
    "backup --pool P",
    "erase --pool P --member m",
    "erase --pool P --reason because",
    "rebuild",
    "verify",
    "desk",
    "restore --pool P",
    # values that are none
    "sheet --kind tea",
    "sheet --format pdf",
    "held --pool P --format csv",
    "answer drop --pool P --member m --reason because",
    "answer keep --pool P --member m --series s --row three --reason because",
    "desk --pool P --port eighty",
    "desk --pool P --port 0",
    "desk --pool P --port 65536",
    "month March --pool P",
    "month 2026-13 --pool P",
    "month 2026-3 --pool P",
    "month 9999-01 --pool P",
    "load a.csv --pool P --received 14.3.2026",
    "load a.csv --pool P --received 2026-02-30",
    "query --pool P --since yesterday",
    "query --pool P --climate Zzz",
    "query --pool P --against 0.4",
    "query --pool P --pot-volume 2l..1l",
    # what does not go together
    "withdraw --pool P --submission abcdef01 --series s --reason because",
    "restore --pool P --submission abcdef01 --series s --reason because",
    "restore --pool P --member m --backup b --reason because",
    "answer aside --pool P --member m --row 3 --reason because",
    "answer aside --pool P --member m --series s --submission abcdef01 --reason because",
    "month 2026-03 --pool P --reason because",
    "month 2026-03 --pool P --correct",
    # blank words
    "withdraw --pool P --member m --reason _",
    "erase --pool P --member m --reason _",
    "demo --pool P --by-whom _",
    "load a.csv --pool P --by-whom _",
    # what no command knows
    "check a.csv --received 2026-03-01",
    "demo --months 3",
    "rebuild --pool P --by-whom Ann",
)


def words_of(typed: str, pool: Path) -> list[str]:
    """The words typed: P is the pool's folder, _ a blank."""
    return [{"P": str(pool), "_": "  "}.get(word, word) for word in typed.split()]


@pytest.mark.parametrize("typed", WRONG)
def test_wrong_use_ends_64_with_a_sentence_and_leaves_nothing(typed: str, tmp_path: Path) -> None:
    done = drainpool(*words_of(typed, tmp_path / "pool"), cwd=tmp_path)
    assert (done.returncode, done.stdout) == (64, "")
    (line,) = done.stderr.splitlines()
    assert line.startswith("drainpool: ") and len(line) > 25
    assert "Traceback" not in line and "argument " not in line
    assert list(tmp_path.iterdir()) == []


def test_no_wrong_use_is_listed_twice() -> None:
    assert len(set(WRONG)) == len(WRONG)


@cache
def commands() -> dict[str, argparse.ArgumentParser]:
    (action,) = (
        action for action in build_parser()._actions if isinstance(action, argparse._SubParsersAction)
    )
    choices: dict[str, argparse.ArgumentParser] = action.choices
    return choices


@pytest.mark.parametrize("command", commands())
def test_every_option_of_every_command_explains_itself(command: str) -> None:
    for action in commands()[command]._actions:
        assert action.help and action.help[0] != " ", (command, action.dest)
        assert not action.help.endswith("."), (command, action.dest)


@pytest.mark.parametrize("command", commands())
def test_every_command_has_its_room(command: str) -> None:
    assert callable(getattr(import_module(f"pipeline.commands.{command}"), command))


@pytest.mark.parametrize("command", commands())
def test_every_option_that_takes_a_value_needs_one(command: str) -> None:
    for action in commands()[command]._actions:
        if action.option_strings and action.nargs is None and action.metavar is not None:
            with pytest.raises(WrongUseError, match="needs a value behind it"):
                parse([command, action.option_strings[0]])


NOISE = st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=12)


@settings(max_examples=examples())
@given(
    st.lists(
        st.one_of(st.sampled_from([*commands(), "--pool", "--member", "--format", "2026-03", "--"]), NOISE),
        max_size=6,
    )
)
def test_whatever_is_typed_is_a_command_or_one_worded_line(typed: list[str]) -> None:
    try:
        assert parse(typed).command in commands()
    except WrongUseError as refused:
        assert refused.exit_code == 64 and str(refused).endswith("--help")
    except SystemExit as leaving:
        assert leaving.code == 0 and any(word.startswith("-h") or word == "--help" for word in typed)


@settings(max_examples=examples(0.5))
@given(st.sampled_from(sorted(commands())), st.text(string.ascii_lowercase, min_size=1, max_size=4))
def test_options_are_never_shortened(command: str, ending: str) -> None:
    for action in commands()[command]._actions:
        for option in action.option_strings:
            short = option[: -len(ending)]
            if len(short) > 3 and short not in commands()[command]._option_string_actions:
                with pytest.raises(WrongUseError):
                    parse([command, short, "x"])
