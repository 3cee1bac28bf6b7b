"""Cautions for readers who would do the same, chosen by what the workbook says was used."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from reportgen.language import marked, say
from reportgen.model.document import Safety
from reportgen.model.trial import Treatment, Trial

TITLE: Final = marked("Safety")


@dataclass(frozen=True)
class Hazard:
    """A thing that needs a caution, the words by which workbooks name it (alone or in the plural),
    the caution.

    A general one is said at the end of every report that does not say it beside the treatments.
    """

    words: tuple[str, ...]
    caution: str
    is_general: bool = False


def _words(text: str) -> tuple[str, ...]:
    """Return the words of a list that semicolons part."""
    return tuple(" ".join(word.split()) for word in text.split(";"))


ULTRAVIOLET: Final = Hazard(
    _words("""uv; uva; uvb; uvc; ultraviolet; ultravioleta"""),
    marked(
        "Ultraviolet light harms eyes and skin within minutes. Switch the lamps off to work beneath"
        " them, or cover your skin and wear eyewear made for ultraviolet; heed the lamp's risk"
        " group (IEC 62471)."
    ),
)
HEAT: Final = Hazard(
    _words("""
        heat mat; heating mat; heated mat; heater; heating cable; propagator; manta térmica; manta de calor;
        alfombrilla térmica; estera térmica; cable calefactor; calefactor; calentador; resistencia
        """),
    marked(
        "Heat mats and heaters beside water can shock and burn. Use ones made for wet places, on a"
        " residual-current device (RCD, GFCI), with a thermostat and a cut-out against overheating;"
        " never cover or fold a mat."
    ),
)
CARBON_DIOXIDE: Final = Hazard(
    _words("""co2; co₂; carbon dioxide; dióxido de carbono; anhídrido carbónico"""),
    marked(
        "Carbon dioxide suffocates without a warning smell. Use an alarm at head height, air the"
        " room before you enter, chain cylinders upright, and keep to the local limit at work"
        " (often 5000 ppm over 8 hours)."
    ),
)
ACIDS: Final = Hazard(
    _words("""
        acid; nitric; phosphoric; sulphuric; sulfuric; ph down; ph up; hydroxide; bleach; hypochlorite; peroxide;
        concentrate; ácido; nítrico; fosfórico; sulfúrico; hidróxido; lejía; hipoclorito; peróxido; agua oxigenada;
        concentrado
        """),
    marked(
        "Acids, bases and nutrient concentrates burn. Wear gloves and goggles, pour acid into water"
        " and never water into acid, never mix concentrates, and follow the safety data sheets."
    ),
    is_general=True,
)
BRIGHT_LIGHT: Final = Hazard(
    _words("""
        lamp; led; grow light; luminaire; hps; sodium; lámpara; foco; luminaria; sodio
        """),
    marked(
        "Very bright and ultraviolet light can harm eyes and skin. Switch lamps off to work beneath"
        " them, or wear eyewear made for them; heed the lamp's risk group (IEC 62471)."
    ),
    is_general=True,
)
MAINS: Final = Hazard(
    _words("""
        pump; fan; chiller; humidifier; dehumidifier; ballast; driver; bomba; ventilador; enfriador; humidificador;
        transformador; balasto
        """),
    marked(
        "Mains power near water can kill. Use a residual-current device (RCD, GFCI), form drip"
        " loops in cables, keep plugs and drivers off the floor and above water, and have fixed"
        " wiring done by a licensed electrician under the local code."
    ),
    is_general=True,
)
HYGIENE: Final = Hazard(
    (),
    marked(
        "Hygiene matters in soilless growing too: clean hands, tools and water. Follow the local"
        " rules for produce that is sold or given away."
    ),
    is_general=True,
)
HAZARDS: Final = (ULTRAVIOLET, HEAT, CARBON_DIOXIDE, MAINS, BRIGHT_LIGHT, ACIDS, HYGIENE)


def beside_treatments(trial: Trial) -> Mapping[str, tuple[str, ...]]:
    """Return the cautions that concern single treatments, by their codes: those that concern all
    stand elsewhere.
    """
    named = {treatment.code: _hazards(_texts(treatment)) for treatment in trial.treatments}
    common = set.intersection(*(set(found) for found in named.values()))
    return {
        code: _cautions(one for one in found if one not in common) for code, found in named.items()
    }


def for_all(trial: Trial) -> tuple[Safety, ...]:
    """Return the cautions that concern every treatment, beside what was compared; none where no
    word calls for one.
    """
    named = [_hazards(_texts(treatment)) for treatment in trial.treatments]
    common = [one for one in named[0] if all(one in found for found in named)]
    grown = _hazards((trial.about.growing_system, trial.about.nutrient_recipe))
    cautions = _cautions(dict.fromkeys((*common, *grown)))
    if cautions:
        return (Safety(say(TITLE), cautions),)
    return ()


def general(trial: Trial) -> Safety:
    """Return the usual cautions that stand nowhere beside the treatments."""
    said = {text for texts in beside_treatments(trial).values() for text in texts}
    said |= {text for one in for_all(trial) for text in one.items}
    cautions = _cautions(one for one in HAZARDS if one.is_general)
    return Safety(say(TITLE), tuple(text for text in cautions if text not in said))


def _texts(treatment: Treatment) -> tuple[str, ...]:
    return (treatment.name, treatment.description, treatment.equipment)


def _hazards(texts: Iterable[str]) -> tuple[Hazard, ...]:
    """Return the hazards that texts name."""
    text = " ".join(texts).casefold()
    return tuple(one for one in HAZARDS if any(_names(text, word) for word in one.words))


def _names(text: str, word: str) -> bool:
    """Return whether a text has a word, alone or with an ending of the plural."""
    return re.search(rf"(?<!\w){re.escape(word)}(?:e?s)?(?!\w)", text) is not None


def _cautions(hazards: Iterable[Hazard]) -> tuple[str, ...]:
    return tuple(say(one.caution) for one in hazards)
