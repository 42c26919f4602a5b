"""Cautions of the trade: dust, germs, weight, kitchen ware, borders. Printed with every answer and every receipt.

Three lengths of the same cautions. `FULL` carries the sources; `SHORT` stands below an answer; `ON_RECEIPTS` goes
with every receipt and test sheet. What has no source here is common practice.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Caution:
    """One caution in full. `sources`: as its text names them; empty for common practice."""

    title: str
    text: str
    sources: tuple[str, ...]


SHORT: tuple[str, ...] = (
    "Try a few pots first. This is about drainage only, for bog plants in trays.",
    "Peat without fertiliser or lime; rain or distilled water; perlite rinsed or sieved wet.",
    "Dust: wet everything first, sieve nothing dry, dust mask (P2, N95 or FFP2), eyes too. No old vermiculite (asbestos).",
    "Germs: gloves, bags away from the face (Legionella, Sporothrix); with fever or cough tell the doctor.",
    "Weigh wet tubs before lifting. Ware used for mix is not used for food again.",
    "Send recipes, never mix or moss, across borders.",
)

ON_RECEIPTS: tuple[str, ...] = (
    "Dust: wet perlite, peat and sand before you handle them, wear a fitted dust mask (P2, N95 or FFP2) and "
    "mind your eyes; work outdoors if you can.",
    "Moulds and germs: open bags away from your face, wear gloves, cover cuts, spray no dry mix, wash your "
    "hands. If fever or cough follows, or a sore that will not heal, tell the doctor about potting mix and "
    "sphagnum.",
    "Lifting and spills: weigh a wet tub before you lift it, keep a hand on a full pot over a jug, mop wet "
    "floors. Kitchen ware used for mix is not used for food again.",
    "This pool is about drainage only, for bog plants in trays; local rules and licensed practice come first.",
)

AT_THE_BENCH: tuple[str, ...] = (
    *ON_RECEIPTS[:3],
    "Glass and blades: use a plastic jug, not glass, and cut cups away from you, with tape over the edge. Empty the water "
    "outdoors the same day; fines block sinks.",
    ON_RECEIPTS[3],
)
"""Beside the test itself, on a card that lies in the wet."""

FULL: tuple[Caution, ...] = (
    Caution(
        "Dust",
        "Wet perlite and peat before handling them; fitted dust mask (P2, N95 or FFP2), eyes too, outdoors. Perlite is a nuisance dust: "
        "OSHA's workplace limits for 8 hours are 15 mg/m³ of total dust and 5 mg/m³ respirable, for dust with under 1 % quartz (printed in the NIOSH Pocket "
        "Guide). Dry peat burns. Sieve no component dry; keep silica sand wet: OSHA's workplace limit for respirable crystalline silica is 50 µg/m³ "
        "over 8 hours. Old stocks of vermiculite can hold asbestos (from memory: EPA): do not use them.",
        ("OSHA", "NIOSH Pocket Guide", "from memory", "EPA"),
    ),
    Caution(
        "Germs",
        "Legionella longbeachae lives in potting mixes: open bags away from the face, wear gloves, no blasting or spraying of dry mix, wash "
        "hands (Australian state health advisories). The risk is greater over 50, for smokers, with lung disease or weak immunity; with fever or cough "
        "afterwards tell the doctor about potting mix (from memory). Sphagnum can carry Sporothrix: gloves, cover cuts, see a doctor "
        "for a sore that will not heal (CDC MMWR).",
        ("Australian state health advisories", "from memory", "CDC MMWR"),
    ),
    Caution(
        "Weight, water and blades",
        "Weigh wet tubs before lifting. A full wet pot on a jug tips: plastic jug, in a tray, a hand on the pot. Cut cups away from you and tape the edge. Wet floors are slippery.",
        (),
    ),
    Caution(
        "Kitchen, drains and trays",
        "Kitchen ware used for mix is not used for food again. Empty test water outdoors the same day: fines block sinks. Refresh trays, and keep "
        "mosquitoes out as the local authority advises.",
        (),
    ),
    Caution(
        "Borders and local rules",
        "Never send mix, peat or moss across a border, nor inside a country where rules forbid it: share a written recipe and ask the plant-health "
        "authority. Peat sale and extraction, wild collecting (CITES, state law), water restrictions and disposal follow local rules.",
        ("CITES",),
    ),
    Caution(
        "What this is, and is not",
        "The tool advises on drainage only, for bog plants in trays, and defers to local codes and licensed practice. Try a few pots first, keep some as they are, change at "
        "that plant's usual repotting time; other plants need other mixes.",
        (),
    ),
)
