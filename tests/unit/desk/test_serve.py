"""How the desk is opened: the first coordinator's link, and whose word on addresses is taken."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import uvicorn

from pipeline.desk.serve import Place, address, first_link, open_desk, serve
from pipeline.errors import DrainpoolError

HERE = Place("127.0.0.1", 8765)


def quiet(_line: str) -> None:
    """Nobody listens."""


def test_the_first_link_is_renewed_until_it_is_used(tmp_path: Path) -> None:
    desk = open_desk(tmp_path / "pool", quiet)
    first, second = first_link(desk, HERE), first_link(desk, HERE)
    assert first is not None
    assert second is not None
    assert first.startswith("http://127.0.0.1:8765/invitation/")
    words = [link.rsplit("/", 1)[1] for link in (first, second)]
    assert desk.accounts.accept(words[0], "hash", desk.clock()) is None
    assert desk.accounts.accept(words[1], "hash", desk.clock()) is not None
    assert first_link(desk, HERE) is None


def test_a_file_is_no_pool(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(DrainpoolError, match="is a file"):
        open_desk(tmp_path / "file", quiet)


def test_a_folder_with_other_things_in_it_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "holiday.jpg").write_text("x")
    with pytest.raises(DrainpoolError, match="holds holiday"):
        open_desk(tmp_path, quiet)
    assert [path.name for path in tmp_path.iterdir()] == ["holiday.jpg"]


@pytest.mark.parametrize(("behind", "trusted"), [(None, ""), ("10.0.0.1", "10.0.0.1")])
def test_forwarded_headers_count_only_when_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, behind: str | None, trusted: str
) -> None:
    asked: dict[str, Any] = {}
    monkeypatch.setattr(uvicorn, "run", lambda _app, **options: asked.update(options))
    serve(open_desk(tmp_path, quiet), Place("127.0.0.1", 8765, behind))
    assert asked["proxy_headers"] is (behind is not None)
    assert asked["forwarded_allow_ips"] == trusted
    assert asked["server_header"] is False
    assert asked["workers"] == 1


def test_an_address_of_six_groups_is_bracketed() -> None:
    assert address(Place("::1", 80)) == "[::1]:80"
