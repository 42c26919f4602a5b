"""How to test at home: the protocol in kitchen words, once, for the desk's page, the report's page and the bench card.

Common practice of the trade, as the project's notes on the trade give it (section 8); what a sheet holds is the
contract's. The blanks of the card are the run sheet's own columns.
"""

from __future__ import annotations

from dataclasses import dataclass

from schemas.kinds.run import RUN


@dataclass(frozen=True)
class Part:
    """One part of the protocol: its title, what it is about in a few words, and its steps in order."""

    title: str
    steps: tuple[str, ...]


IN_SHORT = (
    "Mix peat and perlite by scoops, fill pots to a line, pour a known amount of water through each, and time how long half of it "
    "takes. Do the same with straight peat on the same day: that comparison is what the pool uses."
)

PROTOCOL: tuple[Part, ...] = (
    Part(
        "The mixes",
        (
            "Always make straight base (0 %) too: every mix is compared with your own.",
            "Loosen peat and component and wet each by itself until it is evenly moist; dry peat sheds water. Note how long they stood.",
            "Measure by loose, level scoops before mixing: 3 scoops of peat and 2 of perlite is 40 %. Do not press, and do not go by looks.",
        ),
    ),
    Part(
        "The pots",
        (
            "Fill at least two pots of each mix, each anew from the heap. Pouring twice through one pot does not make it two.",
            "Use one kind of pot, with the same holes and the same cover over them. Fill loosely to a line, tap every pot down the same number of times, and top up to the line.",
            "Find how much mix that is: line the pot with a bag and fill it with water to the line. Measure the width inside at the line and at the base, and the depth.",
        ),
    ),
    Part(
        "The stand",
        (
            "Hold the pot over a plastic jug so that the water falls free: on a rack, or on two sticks over a bowl. It must not stand in its own water, nor close the jug like a lid.",
            "Mark the jug at half of what you will pour, and stand everything in a tray: a full wet pot tips.",
        ),
    ),
    Part(
        "The pour",
        (
            "Pour about a third as much water as there is mix (300 ml on 1 l), the same for every pot and always by the same hand: from low down, onto a saucer on the mix, within 10 seconds, never above the rim.",
            "Start the clock when you start to pour. Stop it when the water in the jug reaches the mark, read at eye level.",
            "Draw lots for the order, so that the pots of one mix do not follow one another. Note how warm the water is.",
        ),
    ),
    Part(
        "When it takes long",
        (
            "Choose a longest time beforehand, such as one hour. Still dripping then: write that time, and “stopped”.",
            "The dripping ends below the mark: write the time, “ran dry”, and how much came out. The mix kept the water; wet it well and pour again.",
        ),
    ),
    Part(
        "What does not count",
        (
            "A pot that leaked, water that ran down a gap between mix and wall, grains that floated up: empty it, fill it anew, pour again.",
            "Write down every pour by itself, as it happens. Never an average of several.",
        ),
    ),
)

WRITTEN_ONCE: tuple[tuple[str, str], ...] = (
    ("member", "Your code"),
    ("series", "Label of this series"),
    ("tested_on", "Day (year-month-day)"),
    ("climate_zone", "Climate class"),
    ("club", "Club, if any"),
    ("round", "Round or test day"),
    ("setup_type", "How the pot was held"),
    ("pot_volume", "Mix in the pot, to the line"),
    ("pot_top_diameter", "Width inside, at the line"),
    ("pot_base_diameter", "Width inside, at the base"),
    ("fill_depth", "Depth of mix"),
    ("taps", "Taps"),
    ("drain_holes", "Holes: how many"),
    ("hole_size", "how wide"),
    ("hole_cover", "covered by"),
    ("base", "Base"),
    ("peat_type", "Kind of peat"),
    ("component", "Component"),
    ("component_grade", "Grade"),
    ("component_min_size", "Grains from"),
    ("component_max_size", "to"),
    ("sieved", "Fines sieved out?"),
    ("pre_wetted", "Wetted before mixing?"),
    ("start_moisture", "Mix at the pour"),
    ("measured_by", "Scoops"),
    ("peat_lot", "Bag of base"),
    ("component_lot", "Bag of component"),
    ("mix_age", "Time since mixing"),
    ("top_layer", "On top of the mix"),
    ("planted", "Planted?"),
    ("hardiness_zone", "Hardiness zone"),
    ("growing_place", "Where the plants grow"),
    ("poured", "Water poured, each time"),
    ("collected", "Clock stops when this is out"),
    ("pour_time", "Pouring took about"),
    ("water_temp", "Water temperature"),
)
"""Blanks that a card has once: the column of the run sheet, and the words beside the blank."""
CHOICES_ON_CARD: dict[str, str] = {
    "setup_type": "rack · strainer · sieve · jug rim · cut cup · other",
    "component_grade": "fine · medium · coarse",
    "start_moisture": "dry · moist · soaked",
    "measured_by": "loose · pressed · bag · look",
    "sieved": "yes · no",
    "pre_wetted": "yes · no",
    "planted": "yes · no",
    "hole_cover": "none · mesh · fleece · moss · paper · other",
}
"""What may be ringed instead of written."""
OF_EACH_POUR: tuple[tuple[str, str], ...] = (
    ("run_order", "order"),
    ("component_share", "mix, % or parts"),
    ("pot_no", "pot"),
    ("pour_no", "pour"),
    ("drain_time", "time, m:ss"),
    ("ended", "reached · stopped · ran dry"),
    ("came_out", "ran dry: came out"),
    ("rest_before", "2nd pour: rest before"),
    ("notes", "note"),
)
"""Columns of a card's table: the column of the run sheet, and its heading."""
LINES_ON_CARD = 12


@dataclass(frozen=True)
class BenchCard:
    """A card to print. `values`: what is known already, by column of the run sheet; `pours`: the same for each line of
    the table, in the order of pouring. All else is a blank to fill."""

    values: tuple[tuple[str, str], ...] = ()
    pours: tuple[tuple[tuple[str, str], ...], ...] = ()

    def __post_init__(self) -> None:
        known = {name for name, _ in (*WRITTEN_ONCE, *OF_EACH_POUR)}
        named = {name for line in (self.values, *self.pours) for name, _ in line}
        if named - known:
            raise ValueError(f"the card has no blank for {', '.join(sorted(named - known))}")
        if len(self.pours) > LINES_ON_CARD:
            raise ValueError(f"a card has {LINES_ON_CARD} lines, not {len(self.pours)}")

    @property
    def once(self) -> list[tuple[str, str, str]]:
        """What is written once: words, value, and what may be ringed where there is no value."""
        known = dict(self.values)
        return [
            (words, known.get(name, ""), "" if name in known else CHOICES_ON_CARD.get(name, _unit(name)))
            for name, words in WRITTEN_ONCE
        ]

    @property
    def lines(self) -> list[list[str]]:
        """The table's lines, the cells of each in the order of OF_EACH_POUR."""
        known = [dict(pour) for pour in self.pours]
        known += [{} for _ in range(LINES_ON_CARD - len(known))]
        return [[pour.get(name, "") for name, _ in OF_EACH_POUR] for pour in known]


def _unit(name: str) -> str:
    """A reminder to write the unit, for blanks that need one."""
    column = RUN.by_name[name]
    return f"such as {column.example}" if column.unit_kind else ""
