"""Headings: which column and which unit each names."""

from __future__ import annotations

import pytest

from pipeline.intake.cells.brackets import BASE_FIRST, COMPONENT_FIRST, HOURS_AND_MINUTES, OTHER_CLOCK
from pipeline.intake.cells.dates import DAY_FIRST, MONTH_FIRST
from pipeline.intake.files.headings import count_known, read_heading, read_headings
from schemas.kinds.kind import SheetKind
from schemas.kinds.registry import KINDS
from schemas.kinds.run import RUN
from schemas.units import READ_IN, UNITS, AmbiguousUnit, Unit

NAMES = [column.name for column in RUN.columns]
WHOLE = [column.name for column in RUN.columns if column.required != "no"]


@pytest.mark.parametrize("name", NAMES)
def test_every_column_is_found_however_it_is_written(name: str) -> None:
    for heading in (
        name,
        name.upper(),
        name.replace("_", " ").title(),
        name.replace("_", "-"),
        name.replace("_", ""),
        f"  {name.replace('_', '  ')}\u00a0",
        "_".join(name),
    ):
        found = read_heading(heading, RUN)
        assert found is not None and (found.column, found.unit) == (name, None)


@pytest.mark.parametrize(
    ("heading", "column", "unit"),
    [
        ("drain_time_s", "drain_time", "s"),
        ("drain time (min)", "drain_time", "min"),
        ("Drain Time [sec.]", "drain_time", "s"),
        ("Collected / ml", "collected", "ml"),
        ("drain time, s", "drain_time", "s"),
        ("drain time in seconds", "drain_time", "s"),
        ("pot_volume [ml]", "pot_volume", "ml"),
        ("Pot Volume L", "pot_volume", "l"),
        ("poured_cups", "poured", "cup"),
        ("poured fl. oz.", "poured", "fl oz"),
        ("poured (imp fl oz)", "poured", "imp fl oz"),
        ("poured_metric_cups", "poured", "metric cup"),
        ("collected (cm³)", "collected", "cm3"),
        ("water_temp_f", "water_temp", "°F"),
        ("Water Temp (°C)", "water_temp", "°C"),
        ("pot_top_diameter_in", "pot_top_diameter", "in"),
        ('fill depth (")', "fill_depth", "in"),
        ("fill depth in cm", "fill_depth", "cm"),
        ("fill depth m", "fill_depth", "m"),
        ("rest_before_h", "rest_before", "h"),
        ("rest before (m)", "rest_before", "min"),
        ("mix_age_days", "mix_age", "days"),
        ("mix age (months)", "mix_age", "months"),
        ("component share (%)", "component_share", "%"),
        ("component_share_percent", "component_share", "%"),
    ],
)
def test_units_in_headings(heading: str, column: str, unit: str) -> None:
    found = read_heading(heading, RUN)
    assert found is not None and found.column == column
    assert isinstance(found.unit, Unit) and found.unit.name == unit


@pytest.mark.parametrize("heading", ["poured_oz", "poured (c)", "collected [T]", "mix_age_m"])
def test_ambiguous_units_in_headings(heading: str) -> None:
    found = read_heading(heading, RUN)
    assert found is not None and isinstance(found.unit, AmbiguousUnit)


@pytest.mark.parametrize(
    "heading",
    ["drain times", "Drain_Times", "DrainTimes", "PourTimes", "MixAges", "DRAINTIMES", "tested on (day)"],
)
def test_a_plural_or_a_remark_in_brackets_names_the_column_without_a_unit(heading: str) -> None:
    found = read_heading(heading, RUN)
    assert found is not None and found.unit is None


@pytest.mark.parametrize(
    ("heading", "form"),
    [
        ("drain_time (hh:mm)", HOURS_AND_MINUTES),
        ("drain time [h:mm]", HOURS_AND_MINUTES),
        ("drain_time hh:mm", HOURS_AND_MINUTES),
        ("drain time (mm:ss)", OTHER_CLOCK),
        ("drain time (min:sec)", OTHER_CLOCK),
        ("drain_time (hh:mm:ss)", OTHER_CLOCK),
        ("parts (perlite:peat)", COMPONENT_FIRST),
        ("parts (component : base)", COMPONENT_FIRST),
        ("Parts (peat + pumice)", BASE_FIRST),
        ("parts (base to component)", BASE_FIRST),
        ("tested_on (DD/MM/YYYY)", DAY_FIRST),
        ("tested on (TT.MM.JJJJ)", DAY_FIRST),
        ("tested_on [mm/dd/yy]", MONTH_FIRST),
        ("tested_on (YYYY-MM-DD)", "year first"),
    ],
)
def test_forms_in_headings(heading: str, form: str) -> None:
    found = read_heading(heading, RUN)
    assert found is not None and (found.says.form, found.unit, found.says.unread) == (form, None, "")


@pytest.mark.parametrize(
    ("heading", "unread"),
    [
        ("component_share (% by weight)", "% by weight"),
        ("component_share (mass %)", "mass %"),
        ("component share (peat %)", "peat %"),
        ("component_share (fraction)", "fraction"),
        ("parts (perlite:pumice)", "perlite:pumice"),
        ("collected (half)", "half"),
        ("drain_time (ml)", "ml"),
        ("tested_on (week)", "week"),
    ],
)
def test_a_bracket_that_is_not_understood_holds_the_column(heading: str, unread: str) -> None:
    found = read_heading(heading, RUN)
    assert found is not None and (found.unit, found.says.unread) == (None, unread)


@pytest.mark.parametrize(
    "heading", ["", "   ", "weather", "drain", "drain_time_ml", "drain_time_days", "poured by", "pots"]
)
def test_other_headings_name_nothing(heading: str) -> None:
    assert read_heading(heading, RUN) is None


def test_the_public_pool_columns_with_units_are_headings_too() -> None:
    """pool.csv writes `pot_volume_ml`; a member who starts from it need not rename anything."""
    for column in RUN.kept:
        if column.unit and column.frame == "number" and column.name != "component_share":
            found = read_heading(column.name, RUN)
            assert found is not None and isinstance(found.unit, Unit), column.name


def test_a_whole_heading_line() -> None:
    headings = read_headings([*WHOLE, "", "weather", "notes"], RUN)
    assert headings.complete and headings.width == len(WHOLE) + 3
    assert headings.unnamed == (len(WHOLE),) and headings.unknown == ((len(WHOLE) + 1, "weather", ()),)
    assert headings.positions["notes"] == len(WHOLE) + 2
    assert headings.fewest_cells == WHOLE.index("drain_time") + 1


def test_missing_columns() -> None:
    assert read_headings([name for name in WHOLE if name != "pour_no"], RUN).missing == ("pour_no",)
    share = ("component_share", "parts")
    without = [name for name in WHOLE if name not in share]
    assert read_headings(without, RUN).missing == ("component_share",)
    assert read_headings([*without, "parts"], RUN).complete
    assert read_headings([*without, "base_parts", "component_parts"], RUN).complete
    assert read_headings([*without, "base_parts"], RUN).missing == ("component_share",)


def test_the_same_column_twice() -> None:
    headings = read_headings([*WHOLE, "drain time (min)"], RUN)
    assert headings.twice == (("drain_time", "drain_time", "drain time (min)"),)
    assert not headings.complete


def test_count_known() -> None:
    assert count_known(["member", "Series", "weather", ""], RUN) == 2
    assert count_known(["member", "MEMBER"], RUN) == 1
    assert count_known(["member"], RUN) == 0 == count_known(["member"] * 1000, RUN)


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.name)
def test_no_heading_names_two_columns_in_any_language_with_or_without_a_unit(kind: SheetKind) -> None:
    """Every spelling of every column, alone and with each unit that the column reads, names that column."""
    for column in kind.columns:
        spellings = {column.name, *(word for words in column.spellings.values() for word in words)}
        units = [unit for unit in UNITS if column.unit_kind in READ_IN.get(unit.kind, (unit.kind,))]
        for spelling in spellings:
            heading = read_heading(spelling, kind)
            assert heading is not None and heading.column == column.name, spelling
            for unit in units:
                for written in unit.spellings:
                    for text in (f"{spelling} ({written})", f"{spelling}_{written}", f"{spelling} {written}"):
                        heading = read_heading(text, kind)
                        assert heading is not None and heading.column == column.name, text


def test_every_column_of_the_run_sheet_is_known_in_five_languages() -> None:
    wordless = {
        column.name: [language for language in ("de", "fr", "nl", "es") if not column.spellings.get(language)]
        for column in RUN.columns
    }
    assert not {name: languages for name, languages in wordless.items() if languages}


@pytest.mark.parametrize(
    ("heading", "column", "unit"),
    [
        ("Pot no.", "pot_no", None),
        ("Pot (no.)", "pot_no", None),
        ("Collected / ml", "collected", "ml"),
        ("Date", "tested_on", None),
        ("Ablaufzeit (min)", "drain_time", "min"),
        ("Topfgröße [l]", "pot_volume", "l"),
        ("TOPFGROESSE l", "pot_volume", "l"),
        ("Temps d'écoulement en", None, None),
        ("temps d’ecoulement (s)", "drain_time", "s"),
        ("N° de pot", "pot_no", None),
        ("Opgevangen hoeveelheid ml", "collected", "ml"),
        ("Volumen de la maceta, l", "pot_volume", "l"),
        ("Zeit", None, None),
        ("time", None, None),
        ("pot", None, None),
        ("end", None, None),
    ],
)
def test_headings_in_other_words(heading: str, column: str | None, unit: str | None) -> None:
    read = read_heading(heading, RUN)
    assert (read and read.column) == column
    if read is not None:
        assert (read.unit.name if isinstance(read.unit, Unit) else None) == unit


@pytest.mark.parametrize(
    ("heading", "near"),
    [
        ("drian time", ("drain_time",)),
        ("Colected (ml)", ("collected",)),
        ("climat zone", ("climate_zone",)),
        ("Abflaufzeit", ("drain_time",)),
        ("weather", ()),
        ("time", ("drain_time", "pour_time")),
    ],
)
def test_a_near_miss_is_proposed_and_never_taken(heading: str, near: tuple[str, ...]) -> None:
    assert read_heading(heading, RUN) is None
    ((_, _, proposed),) = read_headings([heading, "member"], RUN).unknown
    assert proposed == near


def test_what_stands_already_is_not_proposed() -> None:
    ((_, _, proposed),) = read_headings(["drain_time", "drian time"], RUN).unknown
    assert proposed == ()


def test_a_further_spelling_beside_a_columns_own_name_is_left_alone() -> None:
    headings = read_headings(["Datum", *WHOLE], RUN)
    assert headings.complete and [text for _, text, _ in headings.unknown] == ["Datum"]
    assert headings.understood == ()
    assert read_headings(["Datum", "Date"], RUN).twice == (("tested_on", "Datum", "Date"),)


def test_what_was_understood_is_kept_with_the_heading_as_typed() -> None:
    headings = read_headings(["Mitglied", "Ablaufzeit (min)", "series"], RUN)
    assert headings.understood == (("Mitglied", "member"), ("Ablaufzeit (min)", "drain_time"))


def test_what_the_member_said_goes_first_and_brings_a_unit() -> None:
    own = (("Zeit in min", "drain_time"), ("Menge", "collected (ml)"), ("Datum", "notes"))
    headings = read_headings(["Zeit in min", "Menge", "Datum", "tested_on"], RUN, own)
    assert headings.positions == {"drain_time": 0, "collected": 1, "notes": 2, "tested_on": 3}
    units = {name: says.unit.name for name, says in headings.says.items() if isinstance(says.unit, Unit)}
    assert units == {"drain_time": "min", "collected": "ml"}
    assert read_heading("Menge", RUN) is None, "what one member said holds for that member's sheet alone"
    assert read_headings(["Menge", "collected"], RUN, own).twice == (("collected", "Menge", "collected"),)
