"""What growers write of items that have no column of their own: patterns by item and by language of
workbooks.

A workbook may mix languages, so an item is looked for in all of them. `ANY` holds what is written
alike everywhere.
"""

import re
from collections.abc import Mapping
from functools import cache
from typing import Final

ANY: Final = "any language"
NUMBER: Final = r"\b\d+(?:[.,]\d+)? ?"
LENGTH: Final = NUMBER + r"(?:mm|cm|m|in|inch|inches|Zoll|pulgadas|pouces|pollici|polegadas)\b"

PHRASES: Final[Mapping[str, Mapping[str, str]]] = {
    "spectrum": {
        ANY: r"\bR:FR\b|\b\d{3} ?nm\b|\b\d{4} ?K\b",
        "en": r"\bspectr\w+|\bfar[- ]red\b",
        "de": r"\w*spektr\w+|\b(?:dunkel|fern)rot\w*",
        "es": r"\bespectr\w+|\brojo lejano\b",
        "fr": r"\bspectr\w+|\brouge lointain\b",
        "it": r"\bspettr\w+|\brosso lontano\b",
        "nl": r"\w*spectr\w+|\bverrood\b",
        "pt": r"\bespec?tr\w+|\bvermelho (?:distante|longínquo|extremo)\b",
    },
    "lamp_distance": {
        "en": LENGTH + r"[^.;]*\b(?:above|over|from|below|away)\b",
        "de": LENGTH + r"[^.;]*\b(?:über|oberhalb|unter|entfernt|Abstand)\b",
        "es": LENGTH + r"[^.;]*\b(?:sobre|encima|debajo|de distancia|de las? lámparas?)\b",
        "fr": LENGTH + r"[^.;]*\b(?:au-dessus|au-dessous|de distance|des? lampes?|de la lampe)\b",
        "it": LENGTH + r"[^.;]*\b(?:sopra|sotto|di distanza|dall[ae] lampad[ae])\b",
        "nl": LENGTH + r"[^.;]*\b(?:boven|onder|afstand|van de lamp(?:en)?)\b",
        "pt": LENGTH + r"[^.;]*\b(?:acima|abaixo|sobre|de distância|das? lâmpadas?)\b",
    },
    "air_speed": {
        ANY: NUMBER + r"m(?:/s\b| s-1\b)",
        "en": r"\bair (?:speed|velocity)\b",
        "de": r"\b(?:Luft|Wind)geschwindigkeit\b",
        "es": r"\bvelocidad del (?:aire|viento)\b",
        "fr": r"\bvitesse (?:de l['’]air|du vent)\b",
        "it": r"\bvelocità (?:dell['’]aria|del vento)\b",
        "nl": r"\b(?:lucht|wind)snelheid\b",
        "pt": r"\bvelocidade do (?:ar|vento)\b",
    },
    "dissolved_oxygen": {
        "en": r"\bdissolved oxygen\b|\boxygen\b[^.;]*\d|" + NUMBER + r"mg/L\b[^.;]*\boxygen\b",
        "de": (
            r"\bgelöste\w* Sauerstoff\b|\bSauerstoff\w*[^.;]*\d|"
            + NUMBER
            + r"mg/L\b[^.;]*\bSauerstoff"
        ),
        "es": r"\boxígeno disuelto\b|\boxígeno\b[^.;]*\d|" + NUMBER + r"mg/L\b[^.;]*\boxígeno\b",
        "fr": r"\boxygène dissous\b|\boxygène\b[^.;]*\d|" + NUMBER + r"mg/L\b[^.;]*\boxygène\b",
        "it": (
            r"\bossigeno disciolto\b|\bossigeno\b[^.;]*\d|" + NUMBER + r"mg/L\b[^.;]*\bossigeno\b"
        ),
        "nl": (
            r"\bopgelost\w* zuurstof\b|\bzuurstof\w*[^.;]*\d|" + NUMBER + r"mg/L\b[^.;]*\bzuurstof"
        ),
        "pt": (
            r"\boxig[éê]nio dissolvido\b|\boxig[éê]nio\b[^.;]*\d|"
            + NUMBER
            + r"mg/L\b[^.;]*\boxig[éê]nio\b"
        ),
    },
    "co2": {
        "en": r"\bCO2\b[^.;]*\b(?:not|uncontrolled|ambient|no)\b|\b(?:no|without|ambient) CO2\b",
        "de": r"\bCO2\b[^.;]*\b(?:nicht|ungeregelt|Außenluft)\b|\b(?:kein|ohne) CO2\b",
        "es": r"\bCO2\b[^.;]*\b(?:no|sin|ambiente|ambiental)\b|\bsin CO2\b|\bno\b[^.;]*\bCO2\b",
        "fr": r"\bCO2\b[^.;]*\b(?:pas|non|ambiant)\b|\b(?:sans|pas de) CO2\b",
        "it": r"\bCO2\b[^.;]*\b(?:non|ambiente|ambientale)\b|\bsenza CO2\b|\bnon\b[^.;]*\bCO2\b",
        "nl": r"\bCO2\b[^.;]*\b(?:niet|ongeregeld|buitenlucht)\b|\b(?:geen|zonder) CO2\b",
        "pt": r"\bCO2\b[^.;]*\b(?:não|sem|ambiente)\b|\bsem CO2\b|\bnão\b[^.;]*\bCO2\b",
    },
    "container_volume": {
        ANY: NUMBER + r"(?:L|mL)\b",
        "en": NUMBER + r"(?:litres?|liters?|gal|gallons?)\b",
        "de": NUMBER + r"-?(?:Liter\w*|Gallonen)\b",
        "es": NUMBER + r"(?:litros?|galón|galones)\b",
        "fr": NUMBER + r"(?:litres?|gallons?)\b",
        "it": NUMBER + r"(?:litr[io]|gallon[ei])\b",
        "nl": NUMBER + r"(?:liter|gallons?)\b",
        "pt": NUMBER + r"(?:litros?|galão|galões)\b",
    },
    "seed_source": {
        "en": (
            r"\bseeds?\b[^.;]*\b(?:from|of|bought|saved|suppli\w+|source|lot|batch)\b"
            r"|\b(?:own|saved|bought) seeds?\b"
        ),
        "de": (
            r"\b(?:Saatgut|Samen)\b[^.;]*\b(?:von|vom|aus|gekauft\w*|eigene\w*|Herkunft|Charge|Partie)\b"
            r"|\b(?:eigene|gekaufte)\w? (?:Saatgut|Samen)\b"
        ),
        "es": (
            r"\bsemillas?\b[^.;]*\b(?:propias?|compradas?|guardadas?|proveedor\w*|lote|procedencia|origen)\b"
            r"|\bpropias? semillas?\b"
        ),
        "fr": (
            r"\b(?:semences?|graines?)\b[^.;]*\b(?:achet\w+|récolt\w+|fourni\w*|lot|provenance|origine|maison)\b"
            r"|\bpropres (?:semences|graines)\b|\b(?:semences|graines) propres\b"
        ),
        "it": (
            r"\b(?:semi|seme|sement[ei])\b[^.;]*\b(?:propri\w*|acquistat\w|comprat\w|fornit\w*|lotto|provenienza)\b"
            r"|\bpropri\w* (?:semi|seme|sement[ei])\b"
        ),
        "nl": (
            r"\b(?:zaad|zaden|zaaizaad)\b[^.;]*\b(?:eigen|gekocht\w*|van|leverancier|partij|herkomst)\b"
            r"|\b(?:eigen|gekochte?) (?:zaad|zaden|zaaizaad)\b"
        ),
        "pt": (
            r"\bsementes?\b[^.;]*\b(?:própri\w+|comprad\w+|guardad\w+|fornec\w+|lote|origem|proveniência)\b"
            r"|\bprópri\w+ sementes?\b"
        ),
    },
    "transplanted_on": {
        "en": r"\btransplant\w*|\bplanted out\b|\bpricked out\b|\bpotted\b",
        "de": r"\b(?:ver|um|aus)(?:ge)?pflanz\w*|\bpikier\w*|\b(?:um|ein)(?:ge)?topf\w*",
        "es": r"\btrasplant\w*|\btransplant\w*|\brepic\w*",
        "fr": r"\btransplant\w*|\brepiqu\w*|\brempot\w*",
        "it": r"\btrapiant\w*|\bripicchett\w*|\brinvas\w*",
        "nl": r"\b(?:ver|uit|over)(?:ge)?plant\w*|\bverspe(?:en|nen|end)\b|\bopgepot\b",
        "pt": r"\btransplant\w*|\brepic\w*",
    },
    "without_blocks": {  # of the field Layout: completely randomised
        "en": r"\bcomplete",
        "de": r"\bvollständig",
        "es": r"\bcomplet",
        "fr": r"\bcompl[eè]t",
        "it": r"\bcomplet",
        "nl": r"\bvolledig",
        "pt": r"\bcomplet",
    },
}


@cache
def phrase(item: str) -> re.Pattern[str]:
    """Return what tells of an item in any language of workbooks.

    Raise KeyError for an item without phrases.
    """
    patterns = PHRASES[item].values()
    return re.compile("|".join(patterns), re.IGNORECASE)
