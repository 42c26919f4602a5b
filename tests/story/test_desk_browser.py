"""The desk in a real browser: a phone in a wet hand, scripts off, a refused sheet, a month run from the room."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from time import monotonic
from typing import Any

import pytest

from pipeline.check.receipt import as_json_value
from pipeline.jobs.receiving.checking import check_batch
from pipeline.jobs.receiving.sheets import Sheet
from pipeline.settings import Settings
from tests.story.desk_fixture import PASSPHRASE, ServedDesk, served, small_pool
from tests.story.pool_fixture import PATIENCE_S

PHONE = {"width": 400, "height": 800}
TAP_S, LETTER_S, PAGE_S = 3.0, 0.5, 8.0
"""What a person takes: a tap with looking for it, a letter on a phone, reading a page before acting on it.
Common practice in keystroke-level estimates (Card, Moran and Newell 1983: 1.35 s of thought, 1.1 s of pointing),
doubled for a phone in a wet hand."""
REFUSED = Path(__file__).resolve().parents[2] / "contrib_samples" / "refused"


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ServedDesk]:
    with served(small_pool(tmp_path_factory.mktemp("desk") / "pool")) as open_desk:
        open_desk.account("ada", "coordinator")
        open_desk.account("fen-07")
        yield open_desk


@dataclass
class Hand:
    """A person at a page: what they do, how long that would take them, what the browser complains of."""

    page: Any
    seconds: float = 0.0
    complaints: list[str] = field(default_factory=list)

    def read(self) -> None:
        self.seconds += PAGE_S

    def tap(self, what: str) -> None:
        self.page.locator(what).first.click()
        self.seconds += TAP_S

    def type(self, name: str, text: str) -> None:
        self.page.fill(f"[name={name}]", text)
        self.seconds += TAP_S + LETTER_S * len(text)

    def choose(self, name: str, value: str) -> None:
        self.page.select_option(f"[name={name}]", value)
        self.seconds += 2 * TAP_S

    def heading(self) -> str:
        return str(self.page.inner_text("h1"))


@contextmanager
def hand(
    chromium: Any, desk: ServedDesk, scripts: bool = True, scheme: str = "light", width: int = 400
) -> Iterator[Hand]:
    context = chromium.new_context(
        base_url=desk.address,
        viewport={**PHONE, "width": width},
        java_script_enabled=scripts,
        color_scheme=scheme,
        has_touch=True,
    )
    page = context.new_page()
    someone = Hand(page)
    page.on("console", lambda message: someone.complaints.append(message.text))
    page.on("pageerror", lambda error: someone.complaints.append(str(error)))
    yield someone
    context.close()


def come_in(someone: Hand, code: str) -> None:
    someone.page.goto("/sign-in")
    someone.type("code", code)
    someone.type("passphrase", PASSPHRASE)
    someone.tap("button.main")


def fill_the_series(someone: Hand, code: str) -> None:
    someone.page.goto("/fill")
    someone.read()
    if someone.page.input_value("[name=member]") != code:
        someone.type("member", code)
    someone.type("series", "sill")
    someone.choose("climate_zone", "Cfb")
    someone.choose("setup_type", "rack")
    someone.type("pot_volume", "1")
    someone.choose("pot_volume_unit", "l")
    someone.choose("component", "perlite")
    someone.choose("component_grade", "medium")
    someone.type("poured", "2")
    someone.choose("poured_unit", "cups")
    someone.type("collected", "1")
    someone.choose("collected_unit", "cups")
    someone.choose("start_moisture", "moist")


def fill_the_pours(someone: Hand) -> None:
    for at, (mix, time) in enumerate(
        (("0", "5:10"), ("0", "5:31"), ("3+2", "3:05"), ("3+2", "3:21")), start=1
    ):
        someone.type(f"mix_{at}", mix)
        someone.type(f"time_{at}", time)


def test_a_new_member_goes_from_invitation_to_receipt_on_a_phone(chromium: Any, desk: ServedDesk) -> None:
    """Target of the house: five minutes of steps a person would take."""
    word = desk.desk.accounts.invite("reed-5", "member", "ada", desk.desk.clock())
    with hand(chromium, desk) as someone:
        someone.page.goto(f"/invitation/{word}")
        someone.read()
        assert "reed-5" in someone.heading()
        someone.type("passphrase", PASSPHRASE)
        someone.tap("button.main")
        someone.read()
        someone.tap("a.button[href='/fill']")
        fill_the_series(someone, "reed-5")
        fill_the_pours(someone)
        someone.tap("main button.main")
        someone.read()
        assert someone.heading() == "All 4 pours can be taken"
        readings = someone.page.inner_text("ul.readings")
        assert re.search(r"2 cups\s*=\s*473\.176473 ml", readings)
        assert re.search(r"3:05\s*=\s*3 min 5 s", readings)
        someone.tap("main button.main")
        assert "/receipts/" in someone.page.url
        assert "Sent on" in someone.page.inner_text("main")
        someone.page.goto("/fill")
        assert someone.page.input_value("[name=series]") == "sill"
        assert someone.page.input_value("[name=time_1]") == ""
        assert someone.complaints == []
    assert someone.seconds <= 300
    waiting = sorted(path.name for path in (desk.pool / "inbox").glob("*reed-5*.csv"))
    assert len(waiting) == 1


def shown_seconds(text: str) -> float:
    """Seconds of a watch that shows `Stop 1:02.3`, or of a time field."""
    minutes, seconds = text.split()[-1].split(":")
    return 60 * int(minutes) + float(seconds)


@pytest.mark.deep
def test_a_stopwatch_outlives_reload_way_back_and_other_pages(chromium: Any, desk: ServedDesk) -> None:
    """The start moment is what is kept: the time stopped is the time that went by, whatever page was open."""
    watch, running = "[data-watch=time_2]", "[data-watch=time_2].running"
    with hand(chromium, desk) as someone:
        someone.page.goto("/fill")
        began = monotonic()
        someone.page.dblclick(watch)
        assert someone.page.locator(running).count() == 1, "a second tap within a second is no tap"
        someone.page.reload()
        someone.page.wait_for_selector(running)
        someone.page.goto("/ask")
        bar = someone.page.locator("#stopwatch-runs a")
        bar.wait_for()
        assert "pour 2" in bar.inner_text()
        bar.click()
        someone.page.wait_for_selector(running)
        someone.page.goto("/climate")
        someone.page.go_back()
        someone.page.wait_for_selector(running)
        someone.page.wait_for_selector(f"{watch}:not(:has-text('0:00'))")
        someone.tap(watch)
        stopped = shown_seconds(someone.page.input_value("[name=time_2]"))
        assert 1.0 <= stopped <= monotonic() - began
        someone.tap("[data-undo]:visible")
        assert someone.page.input_value("[name=time_2]") == ""
        assert shown_seconds(someone.page.inner_text(watch)) >= stopped, (
            "the watch goes on from its own start"
        )
        someone.tap("[data-undo]:visible")
        assert someone.page.locator(running).count() == 0
        assert someone.page.locator("[data-undo]:visible").count() == 0
        assert someone.complaints == []


@pytest.mark.deep
def test_the_screen_stays_awake_while_a_watch_runs(chromium: Any, desk: ServedDesk) -> None:
    """Asked for at the start, again after the way back, and given up when no watch runs; silent where refused."""
    with hand(chromium, desk) as someone:
        someone.page.add_init_script(
            """window.asked = []; Object.defineProperty(navigator, "wakeLock", {value: {request: function () {
            window.asked.push("on"); return Promise.resolve({addEventListener: function () {}, release: function () {
            window.asked.push("off"); return Promise.resolve(); }}); }}});"""
        )
        someone.page.goto("/fill")
        assert someone.page.evaluate("window.asked") == []
        someone.tap("[data-watch=time_1]")
        assert someone.page.evaluate("window.asked") == ["on"]
        someone.page.reload()
        assert someone.page.evaluate("window.asked") == ["on"]
        someone.tap("[data-undo]:visible")
        assert someone.page.evaluate("window.asked") == ["on", "off"]
    with hand(chromium, desk) as someone:
        someone.page.add_init_script("Object.defineProperty(navigator, 'wakeLock', {value: undefined});")
        someone.page.goto("/fill")
        someone.tap("[data-watch=time_1]")
        someone.page.wait_for_selector("[data-watch=time_1].running")
        assert someone.complaints == []


@pytest.mark.deep
def test_what_was_typed_is_kept_with_all_its_lines(chromium: Any, desk: ServedDesk) -> None:
    with hand(chromium, desk) as someone:
        someone.page.goto("/fill")
        someone.type("series", "kept here")
        someone.tap("[name=more]")
        someone.type("mix_9", "40")
        someone.page.goto("/fill")
        someone.page.wait_for_url("**/fill?pours=9")
        assert someone.page.input_value("[name=series]") == "kept here"
        assert someone.page.input_value("[name=mix_9]") == "40"
        someone.tap("#forget")
        someone.page.goto("/fill")
        assert someone.page.input_value("[name=series]") == ""


@pytest.mark.deep
def test_everything_works_with_scripts_off(chromium: Any, desk: ServedDesk) -> None:
    with hand(chromium, desk, scripts=False) as someone:
        come_in(someone, "fen-07")
        assert someone.page.url.endswith("/mine")
        fill_the_series(someone, "fen-07")
        someone.tap("[name=more]")
        assert someone.page.locator("fieldset").count() == 12
        assert someone.page.input_value("[name=series]") == "sill"
        fill_the_pours(someone)
        someone.type("mix_12", "40")
        someone.type("time_12", "3:40")
        someone.tap("main button.main")
        assert someone.heading() == "All 5 pours can be taken"
        someone.tap("a[href$='/change']")
        assert someone.page.input_value("[name=time_12]") == "3:40"
        someone.type("time_12", "340")
        someone.tap("main button.main")
        assert someone.heading() == "4 of 5 pours can be taken"
        someone.tap("main button.main")
        assert "/receipts/" in someone.page.url
        someone.tap("footer button")
        someone.page.goto("/mine")
        assert someone.page.url.endswith("/sign-in?then=/mine")


@pytest.mark.deep
def test_one_number_is_mended_on_a_phone_within_three_minutes(chromium: Any, desk: ServedDesk) -> None:
    """Target of the house: fix one number after sending, under three minutes, no duplicates."""
    desk.account("otter-3")
    with hand(chromium, desk) as someone:
        come_in(someone, "otter-3")
        someone.read()
        someone.tap("details summary")
        someone.tap("a[href^='/mine/mend']")
        someone.read()
        assert someone.heading() == "Mend “bench A”"
        someone.type("time_2", "3:33")
        someone.tap("main button.main")
        someone.read()
        assert someone.heading() == "All 2 pours can be taken"
        told = someone.page.inner_text("#send")
        assert "This replaces 1 earlier pour." in told and "becomes 3 min 33 s" in told
        someone.tap("main button.main")
        assert "/receipts/" in someone.page.url
    assert someone.seconds <= 180


@pytest.mark.deep
@pytest.mark.parametrize("path", sorted(REFUSED.glob("*.csv"))[::9], ids=lambda path: path.stem)
def test_a_refused_sheet_has_the_same_messages_as_check(chromium: Any, desk: ServedDesk, path: Path) -> None:
    checked = check_batch([Sheet(path.name, path.read_bytes())], Settings(), datetime.now(UTC).date())
    problems = as_json_value(checked)["files"][0]["problems"]
    assert problems
    desk.desk.limits.uploads.forget("address 127.0.0.1")
    with hand(chromium, desk) as someone:
        someone.page.goto("/send")
        someone.page.set_input_files("[name=sheet]", str(path))
        someone.tap("main button.main")
        told = " ".join(someone.page.text_content("main").split())
    for problem in problems:
        for words in (problem["message"], problem["fix"], problem["value"] or ""):
            assert " ".join(words.split()) in told


@pytest.mark.deep
def test_a_climate_class_is_found_and_taken_along(chromium: Any, desk: ServedDesk) -> None:
    means = [3.6, 3.9, 6.5, 9.9, 13.4, 16.2, 18.3, 17.9, 14.7, 10.9, 7.0, 4.2]
    with hand(chromium, desk) as someone:
        someone.page.goto("/climate")
        for at, mean in enumerate(means, start=1):
            someone.type(f"mean_{at}", str(mean).replace(".", ","))
            someone.type(f"rain_{at}", "70")
        someone.tap("main button.main")
        assert someone.heading().startswith("Cfb")
        someone.tap("a.button")
        assert someone.page.input_value("[name=climate_zone]") == "Cfb"
    assert not any("70" in line for line in desk.log)


@pytest.mark.deep
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_page_fits_a_phone_and_complains_of_nothing(
    chromium: Any, desk: ServedDesk, scheme: str
) -> None:
    with hand(chromium, desk, scheme=scheme) as someone:
        come_in(someone, "ada")
        for path in (
            "/",
            "/send",
            "/fill",
            "/climate",
            "/how-to-test",
            "/bench-card-a4.html",
            "/ask?ask=yes",
            "/sign-in",
            "/reports",
            "/mine",
            "/room",
            "/room/people",
            "/nowhere",
        ):
            someone.page.goto(path)
            assert someone.page.evaluate("document.documentElement.scrollWidth <= 400"), path
        paper = someone.page.evaluate("getComputedStyle(document.body).backgroundColor")
        assert (sum(map(int, re.findall(r"\d+", paper))) < 200) == (scheme == "dark")
        assert [words for words in someone.complaints if "404" not in words] == []


@pytest.mark.deep
def test_the_coordinator_runs_a_month_and_opens_the_page(chromium: Any, desk: ServedDesk) -> None:
    month = f"{datetime.now(UTC):%Y-%m}"
    with hand(chromium, desk, width=1280) as someone:
        come_in(someone, "ada")
        assert someone.page.url.endswith("/room")
        assert "need you" in someone.heading() or "needs you" in someone.heading()
        someone.type("month", month)
        someone.tap("button[value=run]")
        someone.page.wait_for_selector(
            "h1:has-text('is ready'), h1:has-text('could not')", timeout=1000 * PATIENCE_S
        )
        assert someone.heading() == f"{month} is ready", someone.page.inner_text("main")
        someone.tap("a.button")
        assert someone.page.url.endswith(f"/reports/{month}/")
        someone.page.wait_for_selector("html[data-drawn=yes]", state="attached")
        assert someone.page.inner_text("h1")
        assert [words for words in someone.complaints if "Content Security Policy" in words] == []
        assert list((desk.pool / "inbox").glob("*.csv")) == []
