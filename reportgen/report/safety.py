"""Cautions for readers who would do the same, chosen by what the workbook says was used.

A caution that concerns single treatments stands on their cards, all others in one box beneath them.
What no word of the workbook calls for is not said.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from reportgen.language import marked, say
from reportgen.model.document import Safety
from reportgen.model.trial import Treatment, Trial
from reportgen.report import numbers, wording

TITLE: Final = marked("Safety: {names}")
POWER: Final = re.compile(r"\d\s?w\b")  # in small letters


@dataclass(frozen=True)
class Hazard:
    """A thing that needs a caution.

    Its name, the words by which workbooks name it (alone or in the plural), the caution, and the
    same in a sentence for short forms of a report.

    `powered_words` name it only where a text tells a power in watts too: a `manta térmica` without
    one is a fleece.
    """

    name: str
    words: tuple[str, ...]
    caution: str
    brief: str
    powered_words: tuple[str, ...] = ()


def _words(text: str) -> tuple[str, ...]:
    """Return the words of a list that semicolons part."""
    return tuple(" ".join(word.split()) for word in text.split(";"))


ULTRAVIOLET: Final = Hazard(
    marked("Ultraviolet light"),
    _words("""uv; uva; uvb; uvc; ultraviolet; ultravioleta"""),
    marked(
        "Ultraviolet light harms eyes and skin within minutes. Switch the lamps off to work beneath"
        " them, or cover your skin and wear eyewear made for ultraviolet; heed the lamp's risk"
        " group (IEC 62471)."
    ),
    marked(
        "Ultraviolet light harms eyes and skin within minutes: switch the lamps off or cover up."
    ),
)
HEAT: Final = Hazard(
    marked("Heat mats"),
    _words("""
        heat mat; heating mat; heated mat; heater; heating cable; propagator; manta calefactora;
        estera calefactora; manta de calor; alfombrilla térmica; estera térmica; cable calefactor;
        calefactor; calentador; resistencia
        """),
    marked(
        "Heat mats and heaters beside water can shock and burn. Use ones made for wet places, on a"
        " residual-current device (RCD, GFCI), with a thermostat and a cut-out against overheating;"
        " never cover or fold a mat."
    ),
    marked(
        "Heat mats and heaters beside water can shock and burn: use ones made for wet places, on a"
        " residual-current device (RCD, GFCI)."
    ),
    _words("""manta térmica"""),
)
CARBON_DIOXIDE: Final = Hazard(
    marked("Carbon dioxide"),
    _words("""co2; co₂; carbon dioxide; dióxido de carbono; anhídrido carbónico"""),
    marked(
        "Carbon dioxide suffocates without a warning smell. Use an alarm at head height, air the"
        " room before you enter, chain cylinders upright, and keep to the local limit at work"
        " (often 5000 ppm over 8 hours)."
    ),
    marked(
        "Carbon dioxide suffocates without a warning smell: use an alarm and air the room before"
        " you enter."
    ),
)
ACIDS: Final = Hazard(
    marked("Acids"),
    _words("""
        acid; nitric; phosphoric; sulphuric; sulfuric; ph down; ph up; ph set; hydroxide; bleach;
        hypochlorite; peroxide; concentrate; feed; fertiliser; fertilizer; nutrient solution;
        ácido; nítrico; fosfórico; sulfúrico; hidróxido; lejía; hipoclorito; peróxido;
        agua oxigenada; concentrado; fertilizante; solución nutritiva
        """),
    marked(
        "Acids, bases and nutrient concentrates burn. Wear gloves and goggles, pour acid into water"
        " and never water into acid, never mix concentrates, and follow the safety data sheets."
    ),
    marked(
        "Acids, bases and nutrient concentrates burn: wear gloves and goggles, and never pour water"
        " into acid."
    ),
)
BRIGHT_LIGHT: Final = Hazard(
    marked("Bright light"),
    _words("""
        lamp; led; grow light; luminaire; hps; sodium; lámpara; foco; luminaria; sodio
        """),
    marked(
        "Very bright light can harm the eyes. Switch lamps off to work beneath them, or wear"
        " eyewear made for them; heed the lamp's risk group (IEC 62471)."
    ),
    marked(
        "Very bright light can harm the eyes: switch lamps off to work beneath them, or wear"
        " eyewear made for them."
    ),
)
MAINS: Final = Hazard(
    marked("Mains power"),
    (
        *_words("""
        pump; fan; chiller; humidifier; dehumidifier; ballast; driver; bomba; ventilador; enfriador;
        humidificador; transformador; balasto
        """),
        *BRIGHT_LIGHT.words,
        *HEAT.words,
        *ULTRAVIOLET.words,
    ),
    marked(
        "Mains power near water can kill. Use a residual-current device (RCD, GFCI), form drip"
        " loops in cables, keep plugs and drivers off the floor and above water, and have fixed"
        " wiring done by a licensed electrician under the local code."
    ),
    marked(
        "Mains power near water can kill: use a residual-current device (RCD, GFCI) and keep plugs"
        " above water."
    ),
    HEAT.powered_words,
)
HYGIENE: Final = Hazard(  # of all that is grown to be eaten
    marked("Hygiene"),
    (),
    marked(
        "Hygiene matters in soilless growing too: clean hands, tools and water. Follow the local"
        " rules for produce that is sold or given away."
    ),
    marked("Hygiene matters in soilless growing too: clean hands, tools and water."),
)
HAZARDS: Final = (ULTRAVIOLET, HEAT, CARBON_DIOXIDE, MAINS, BRIGHT_LIGHT, ACIDS, HYGIENE)


def beside_treatments(trial: Trial) -> Mapping[str, Safety | None]:
    """Return the cautions that concern single treatments, by their codes.

    Those that concern all stand elsewhere. None where a treatment has none of its own.
    """
    by_treatment = {treatment.code: _hazards(_texts(treatment)) for treatment in trial.treatments}
    common = set.intersection(*map(set, by_treatment.values()))
    own: dict[str, Safety | None] = {}
    for code, hazards in by_treatment.items():
        rest = [hazard for hazard in hazards if hazard not in common]
        own[code] = None
        if rest:
            own[code] = _box(rest)
    return own


def for_all(trial: Trial) -> Safety:
    """Return the cautions that concern every treatment, or how all was grown."""
    named = [_hazards(_texts(treatment)) for treatment in trial.treatments]
    used = set.intersection(*map(set, named))
    used |= set(_hazards((trial.about.growing_system, trial.about.nutrient_recipe)))
    return _box([hazard for hazard in HAZARDS if hazard in used or hazard is HYGIENE])


def _box(hazards: Iterable[Hazard]) -> Safety:
    """Return cautions under a title that says what they are about."""
    names: list[str] = []
    cautions: list[str] = []
    brief: list[str] = []
    for hazard in hazards:
        names.append(wording.inside(say(hazard.name)))
        cautions.append(say(hazard.caution))
        brief.append(say(hazard.brief))
    title = say(TITLE, names=numbers.listed(tuple(names)))
    return Safety(title, tuple(cautions), tuple(brief))


def _texts(treatment: Treatment) -> tuple[str, ...]:
    return (treatment.name, treatment.description, treatment.equipment)


def _hazards(texts: Iterable[str]) -> tuple[Hazard, ...]:
    """Return the hazards that texts name."""
    text = " ".join(texts).casefold()
    return tuple(hazard for hazard in HAZARDS if _is_named(hazard, text))


def _is_named(hazard: Hazard, text: str) -> bool:
    words = hazard.words
    if POWER.search(text):
        words += hazard.powered_words
    return any(_names(text, word) for word in words)


def _names(text: str, word: str) -> bool:
    """Return whether a text has a word, alone or with an ending of the plural."""
    return re.search(rf"(?<!\w){re.escape(word)}(?:e?s)?(?!\w)", text) is not None
