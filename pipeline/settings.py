"""A pool's settings: `settings.toml` read, checked against the table in `schemas.settings`, and frozen."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from pipeline.errors import DrainpoolError
from schemas.settings import SETTINGS, Setting

LONGEST_TEXT = 80


@dataclass(frozen=True)
class Settings:
    """The numbers a club chose or left at their defaults; names, units and limits in `schemas.settings`."""

    pool_name: str = "The pool"
    target_ratio: float = 1.25
    assurance: float = 0.80
    reference_share: float = 40.0
    repeatability_sd: float = 0.10
    small_shares: tuple[float, ...] = ()
    weight_of_too_little: float = 0.0
    weight_of_too_much: float = 0.0
    stopwatch_step_s: float = 1.0
    standard_pot_volume_l: float = 1.0
    standard_collected_ml: float = 150.0
    front_speed_held_below_cm_s: float = 2e-6
    front_speed_advice_below_cm_s: float = 1e-4
    front_speed_advice_above_cm_s: float = 0.7
    front_speed_held_above_cm_s: float = 5.0
    short_time_advice_s: float = 5.0
    long_time_advice_s: float = 86400.0
    long_time_held_s: float = 604800.0
    run_by: str = ""
    paid_by: str = ""
    contact: str = ""
    licence: str = ""
    report_address: str = ""

    def as_values(self) -> dict[str, Any]:
        """Plain values for `results.json` and the journal; what the club has not said is left out, so that a pool without
        such words keeps the settings it had."""
        values = {name: value for name, value in asdict(self).items() if value != ""}
        values["small_shares"] = list(self.small_shares)
        return values


def read_settings(path: Path) -> Settings:
    """Settings of the pool whose `settings.toml` is at `path`; defaults where there is no file.
    Raises DrainpoolError, worded, on an unknown name or a value outside its limits."""
    if not path.exists():
        return Settings()
    try:
        typed = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise DrainpoolError(
            f"{path} can't be read: {error}. Each line is a name, an equals sign and a value, "
            "like: target_ratio = 1.25. Nothing was changed; mend the line and run the command again."
        ) from None
    return settings_from(typed, str(path))


def settings_text() -> str:
    """A settings file with every setting at its default, each line commented out and explained."""
    lines = [
        "# The club's settings. Take the # away from a line and change its value; the next month run takes it up.",
        "# A change is written into the journal and holds from the running month on.",
    ]
    for setting in SETTINGS:
        value = list(setting.default) if isinstance(setting.default, tuple) else setting.default
        typed = (
            f'"{value}"' if isinstance(value, str) else f"{value:g}" if isinstance(value, float) else value
        )
        unit = f" Unit: {setting.unit}." if setting.unit else ""
        lines += ["", f"# {setting.meaning}{unit}", f"# {setting.name} = {typed}"]
    return "\n".join(lines) + "\n"


def settings_from(typed: Mapping[str, Any], where: str) -> Settings:
    """Settings from plain values, each checked against its limits; `where` is named in the message."""
    by_name = {setting.name: setting for setting in SETTINGS}
    values: dict[str, Any] = {}
    for name, value in typed.items():
        if name not in by_name:
            raise DrainpoolError(
                f"{where} has a setting “{name}” that drainpool does not know. "
                f"Known settings: {', '.join(sorted(by_name))}. Nothing was changed."
            )
        values[name] = _checked(by_name[name], value, where)
    return Settings(**values)


def _checked(setting: Setting, value: Any, where: str) -> Any:
    if isinstance(setting.default, str):
        least = 1 if setting.default else 0
        if isinstance(value, str) and least <= len(value.strip()) <= LONGEST_TEXT:
            return value.strip()
        raise DrainpoolError(
            f"{where}: {setting.name} should be a text of {least} to {LONGEST_TEXT} characters. Nothing was changed."
        )
    if isinstance(setting.default, tuple):
        if isinstance(value, (list, tuple)) and all(_within(setting, one) for one in value):
            return tuple(float(one) for one in value)
    elif _within(setting, value):
        return float(value)
    raise DrainpoolError(
        f"{where}: {setting.name} = {value} is not between {setting.low:g} and {setting.high:g} {setting.unit}. "
        "Nothing was changed; mend the line and run the command again."
    )


def _within(setting: Setting, value: Any) -> bool:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        return False
    return setting.low is not None and setting.high is not None and setting.low <= value <= setting.high
