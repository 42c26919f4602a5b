"""Further headings that name a column of the run sheet, in English, German, French, Dutch and Spanish.

Letter case, accents, spaces, hyphens, dots and brackets make no difference, and a unit may follow each. The words are
common practice, without a published source. Left out is what may mean two things, such as a bare `time` (of day?),
`pot` (its size?) or `end`: those are proposed by name and never taken silently.
"""

from __future__ import annotations

from collections.abc import Mapping

from schemas.column import Language

Spellings = Mapping[Language, tuple[str, ...]]


def _words(en: str, de: str, fr: str, nl: str, es: str) -> Spellings:
    """The headings of each language, given as one text with commas."""
    texts: Mapping[Language, str] = {"en": en, "de": de, "fr": fr, "nl": nl, "es": es}
    return {
        language: tuple(word.strip() for word in text.split(",") if word.strip())
        for language, text in texts.items()
    }


SPELLINGS: Mapping[str, Spellings] = {
    "tested_on": _words(
        "date, test date, date of test, date tested, day of test",
        "Datum, Testdatum, Prüfdatum, Versuchsdatum, getestet am",
        "date, date du test, date de l'essai, date d'essai, testé le",
        "datum, testdatum, datum van de test, getest op",
        "fecha, fecha de la prueba, fecha de prueba, fecha del ensayo, probado el",
    ),
    "climate_zone": _words(
        "climate, climate class, Köppen, Köppen class, Köppen zone, Köppen-Geiger",
        "Klimazone, Klima, Klimaklasse, Köppen-Klasse",
        "zone climatique, climat, classe climatique, classe de Köppen",
        "klimaatzone, klimaat, klimaatklasse",
        "zona climática, clima, clase climática, clase de Köppen",
    ),
    "setup_type": _words(
        "setup, kind of setup, type of setup",
        "Aufbau, Versuchsaufbau, Art des Aufbaus",
        "montage, type de montage",
        "opstelling, type opstelling, proefopstelling",
        "montaje, tipo de montaje",
    ),
    "pot_volume": _words(
        "pot vol, volume of pot, pot capacity, pot size",
        "Topfvolumen, Topfinhalt, Topfgröße, Volumen des Topfes, Volumen Topf",
        "volume du pot, volume pot, contenance du pot",
        "potvolume, potinhoud, inhoud pot, inhoud van de pot, volume van de pot",
        "volumen de la maceta, volumen maceta, capacidad de la maceta",
    ),
    "base": _words(
        "base material, base medium",
        "Basis, Grundstoff, Grundsubstrat",
        "matériau de base",
        "basis, basismateriaal",
        "material de base",
    ),
    "component": _words(
        "mineral, mineral component, amendment, additive",
        "Komponente, Zuschlag, Zuschlagstoff, Beimischung",
        "composant, composante, composant minéral",
        "bestanddeel, toeslag, toeslagstof",
        "componente, componente mineral",
    ),
    "component_grade": _words(
        "grade, grain grade, grade of component",
        "Körnung, Körnung der Komponente",
        "granulométrie, calibre",
        "korreling, korrelgrofte",
        "granulometría, grado",
    ),
    "component_share": _words(
        "share, share of component, component percent, percent component, component %, % component",
        "Anteil, Komponentenanteil, Anteil Komponente, Anteil der Komponente, Zuschlagsanteil",
        "pourcentage du composant, proportion du composant, part du composant",
        "aandeel, aandeel component, percentage component",
        "porcentaje del componente, proporción del componente",
    ),
    "parts": _words(
        "mix ratio, mixing ratio, parts by volume",
        "Teile, Raumteile, Mischungsverhältnis",
        "rapport de mélange, parts en volume",
        "delen, mengverhouding",
        "partes, relación de mezcla, proporción de mezcla",
    ),
    "base_parts": _words(
        "parts of base, parts base",
        "Teile Basis, Teile Grundstoff",
        "parts de base",
        "delen basis",
        "partes de base",
    ),
    "component_parts": _words(
        "parts of component, parts component",
        "Teile Komponente, Teile Zuschlag",
        "parts de composant",
        "delen bestanddeel",
        "partes de componente",
    ),
    "pot_no": _words(
        "pot number, pot nr, pot num, pot #, filling, filling no, filling number, replicate",
        "Topf-Nr., Topfnummer, Füllung, Füllung Nr., Füllnummer",
        "n° de pot, no de pot, pot n°, numéro de pot, numéro du pot, remplissage",
        "potnummer, vulling, vulling nr",
        "n° de maceta, n.º de maceta, no de maceta, número de maceta, maceta n°, llenado",
    ),
    "pour_no": _words(
        "pour number, pour nr, pour num, pour #, pouring no, pouring number",
        "Guss-Nr., Gussnummer, Gießvorgang, Gießgang",
        "n° d'arrosage, no d'arrosage, numéro d'arrosage, arrosage n°",
        "gietbeurt, gietbeurt nr, gietnummer",
        "n° de riego, no de riego, número de riego, riego n°",
    ),
    "poured": _words(
        "water poured, volume poured, poured volume, amount poured, poured on, poured water",
        "gegossen, aufgegossen, Gießmenge, gegossene Menge",
        "versé, eau versée, volume versé, quantité versée",
        "gegoten, opgegoten, gegoten water, gegoten hoeveelheid",
        "vertido, agua vertida, volumen vertido, cantidad vertida",
    ),
    "collected": _words(
        "water collected, volume collected, collected volume, amount collected, collected water, caught",
        "aufgefangen, Auffangmenge, aufgefangene Menge, aufgefangenes Wasser",
        "recueilli, eau recueillie, volume recueilli, quantité recueillie",
        "opgevangen, opgevangen water, opgevangen hoeveelheid",
        "recogido, agua recogida, volumen recogido, cantidad recogida",
    ),
    "drain_time": _words(
        "draining time, drainage time, time to drain, drain duration",
        "Ablaufzeit, Durchlaufzeit, Drainzeit, Drainagezeit",
        "temps de drainage, durée de drainage, temps d'écoulement, durée d'écoulement",
        "doorlooptijd, uitlooptijd, afvoertijd, drainagetijd",
        "tiempo de drenaje, tiempo de drenado, duración del drenaje",
    ),
    "ended": _words("how it ended", "beendet, wie beendet", "terminé", "beëindigd", "terminado"),
    "water_temp": _words(
        "water temperature, temperature of water, temp of water",
        "Wassertemperatur, Wassertemp.",
        "température de l'eau, temp. de l'eau",
        "watertemperatuur, watertemp",
        "temperatura del agua, temp. del agua",
    ),
    "pot_top_diameter": _words(
        "top diameter, diameter top",
        "Durchmesser oben, oberer Durchmesser",
        "diamètre en haut, diamètre supérieur",
        "diameter boven, bovendiameter",
        "diámetro superior",
    ),
    "pot_base_diameter": _words(
        "base diameter, bottom diameter, diameter bottom, pot bottom diameter",
        "Durchmesser unten, unterer Durchmesser, Bodendurchmesser",
        "diamètre en bas, diamètre inférieur",
        "diameter onder, onderdiameter",
        "diámetro inferior",
    ),
    "fill_depth": _words(
        "filling depth, fill height, depth of mix, mix depth",
        "Füllhöhe, Fülltiefe",
        "hauteur de remplissage, profondeur de remplissage",
        "vulhoogte, vuldiepte",
        "altura de llenado, profundidad de llenado",
    ),
    "hardiness_zone": _words(
        "hardiness, USDA zone",
        "Winterhärtezone, Klimahärtezone",
        "zone de rusticité",
        "winterhardheidszone",
        "zona de rusticidad",
    ),
    "growing_place": _words(
        "where grown, place of growing", "Kulturort", "lieu de culture", "groeiplaats", "lugar de cultivo"
    ),
    "pre_wetted": _words(
        "pre-moistened, wetted before",
        "vorgefeuchtet, vorgenässt",
        "pré-mouillé, préhumidifié",
        "voorbevochtigd",
        "prehumedecido",
    ),
    "start_moisture": _words(
        "starting moisture, initial moisture",
        "Anfangsfeuchte, Ausgangsfeuchte, Startfeuchte",
        "humidité initiale, humidité de départ",
        "beginvocht, startvochtigheid",
        "humedad inicial",
    ),
    "sieved": _words("sifted", "gesiebt", "tamisé", "gezeefd", "tamizado, cribado"),
    "component_min_size": _words(
        "min grain size, smallest grain",
        "kleinste Körnung, Korngröße min",
        "taille minimale des grains",
        "kleinste korrel",
        "tamaño mínimo del grano",
    ),
    "component_max_size": _words(
        "max grain size, largest grain",
        "größte Körnung, Korngröße max",
        "taille maximale des grains",
        "grootste korrel",
        "tamaño máximo del grano",
    ),
    "drain_holes": _words(
        "holes, number of holes, drainage holes",
        "Löcher, Anzahl Löcher, Abzugslöcher",
        "trous, nombre de trous, trous de drainage",
        "gaten, aantal gaten, drainagegaten",
        "agujeros, número de agujeros",
    ),
    "hole_size": _words(
        "hole diameter, hole width",
        "Lochgröße, Lochdurchmesser",
        "taille des trous, diamètre des trous",
        "gatgrootte, gatdiameter",
        "diámetro de los agujeros",
    ),
    "hole_cover": _words(
        "cover of holes", "Lochabdeckung", "couverture des trous", "gatafdekking", "cubierta de los agujeros"
    ),
    "came_out": _words(
        "water that came out", "herausgekommen", "eau sortie", "uitgelopen water", "agua salida"
    ),
    "pour_time": _words(
        "pouring time, time to pour",
        "Gießzeit, Gießdauer",
        "durée de versement, temps de versement",
        "giettijd, gietduur",
        "tiempo de vertido, duración del vertido",
    ),
    "rest_before": _words(
        "resting time, rest time",
        "Ruhezeit, Ruhezeit davor",
        "temps de repos, repos avant",
        "rusttijd, rust vooraf",
        "tiempo de reposo, reposo previo",
    ),
    "taps": _words(
        "number of taps", "Anzahl Klopfer", "nombre de tapes", "aantal tikken", "número de golpes"
    ),
    "measured_by": _words("how measured", "gemessen durch", "mesuré par", "gemeten door", "medido por"),
    "peat_type": _words(
        "type of peat, kind of peat", "Torfart, Torfsorte", "type de tourbe", "veensoort", "tipo de turba"
    ),
    "top_layer": _words(
        "top dressing", "Deckschicht", "couche de surface", "toplaag, deklaag", "capa superior"
    ),
    "planted": _words("with plant", "bepflanzt", "planté", "beplant", "plantado"),
    "club": _words("", "Verein", "association", "vereniging", "asociación"),
    "round": _words("test round", "Runde, Testrunde", "tour de test", "ronde, testronde", "ronda"),
    "peat_lot": _words("peat batch", "Torfcharge", "lot de tourbe", "veenpartij", "lote de turba"),
    "component_lot": _words(
        "component batch",
        "Komponentencharge, Charge der Komponente",
        "lot du composant",
        "partij bestanddeel",
        "lote del componente",
    ),
    "mix_age": _words(
        "age of mix",
        "Alter der Mischung, Mischungsalter",
        "âge du mélange",
        "leeftijd van het mengsel",
        "edad de la mezcla",
    ),
    "run_order": _words(
        "order of pours, order of runs", "Reihenfolge", "ordre des essais", "volgorde", "orden de riegos"
    ),
    "notes": _words(
        "note, remark, remarks, comment, comments",
        "Notiz, Notizen, Bemerkung, Bemerkungen, Anmerkung, Anmerkungen",
        "remarque, remarques, commentaire, commentaires",
        "notitie, notities, opmerking, opmerkingen",
        "nota, notas, observaciones, comentarios",
    ),
}
"""By column; `member` and `series`, which every kind of sheet has, stand in `every_sheet`."""
