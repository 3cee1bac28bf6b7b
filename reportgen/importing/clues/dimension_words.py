"""Words that name a dimension, in seven languages, as the beginnings of words in a header or label."""

import re
from typing import Final

from reportgen.importing.model.layouts import Dimension

NOBODY: Final = "nobody"  # a word that names no dimension: remarks, persons, states
FACTOR: Final = "factor"  # a second factor, or which crop it is

_BEGINNINGS: Final = {
    Dimension.TREATMENT: (
        "treatm treatement behandl variant traitem trattam tratam tesi modalit condition gruppe group groupe grupo "
        "gruppo groep proefobj object regime level arm light licht lumi luce luz lamp lampe spectr dose dosis substrat "
        "substrate medium media fan ventil salin nacl recipe rezept mix mulch irrigat bewässer spacing densit nutrient "
        "programme program compost biochar photoperiod ec-stufe stufe trt tmt treat what setting versuchsglied objet"
    ),
    Dimension.UNIT: (
        "tray schale bac bandej vasso vassoi bak bandeja tabuleiro tub tubs tank bassin becken bed beet cama letto "
        "plot parzell parcel parcela parcell veld perceel tent zelt tenda tienda pot topf maceta vaso bag sack sac "
        "saco bolsa sacco zak tower turm torre bucket eimer seau cubo secchi emmer raft floß channel rinne gutter "
        "goot canal canale container bassine kist kiste box caisse caja plateau shelf regal row reihe rang fila riga "
        "rij crate tafel tisch bench table house greenhouse kas serre "
        "gewächshaus room raum salle module modul unit einheit"
    ),
    Dimension.BLOCK: "block bloc bloque blocco blok bloco wiederholung rep replic repet répét herhal ripet position",
    Dimension.PLANT: (
        "plant pflanz plante planta pianta plantnr plant-nr head kopf tête cabeza cespo krop krops seedling "
        "sample-plant individ specimen"
    ),
    Dimension.OCCASION: (
        "date datum fecha data day tag jour dia día giorno dag week woche semaine semana settiman pick ernte harvest "
        "récolte recolte cosecha raccolt oogst colheit cut schnitt coupe corte taglio snede flush welle visit when "
        "time zeit heure hora ora tijd month monat mois mes mese maand das dat dap sampling sample timestamp moment"
    ),
    Dimension.EVENT: "event action vorgang ereignis événement evento what gebeurt art type",
    Dimension.METER: "meter zähler zaehler compteur contador contatore teller plug socket steckdose prise logger",
    Dimension.GRADE: "grade klasse sort qualit calibre calidad kwaliteit handelsklasse classe categor",
}
_NOBODY: Final = (
    "note remark bemerk comment komment observ nota opmerk osserv who name person operator by weigher status state "
    "zustand état estado stato staat weighed photo foto bild"
)
_FACTOR: Final = (
    "cultivar variety sorte variété variedad varietà ras cv species art espèce especie soort crop kultur culture "
    "cultivo coltura gewas soil boden sol suelo suolo grond genotype clone"
)
_WORD: Final = re.compile(r"[^\W\d_]+(?:-[^\W\d_]+)*")


def words_of(text: str) -> list[str]:
    """Return the words of a text in small letters."""
    return [match.group().casefold() for match in _WORD.finditer(text)]


def named_dimensions(text: str) -> dict[Dimension, float]:
    """Return the dimensions that a text may name: 1 where a whole word does, less where one begins so."""
    named: dict[Dimension, float] = {}
    for dimension, beginnings in _BEGINNINGS.items():
        share = _match(text, beginnings)
        if share:
            named[dimension] = share
    return named


def names_nobody(text: str) -> bool:
    """Tell whether a text names remarks, persons or states."""
    return _match(text, _NOBODY) > 0


def names_factor(text: str) -> bool:
    """Tell whether a text names a cultivar, a soil or another usual second factor."""
    return _match(text, _FACTOR) > 0


def _match(text: str, beginnings: str) -> float:
    """Return how well a word of the text matches: 1 whole, 0.75 as a beginning, 0 not."""
    known = beginnings.split()
    best = 0.0
    for word in words_of(text):
        if word in known:
            return 1.0
        for beginning in known:
            if len(beginning) >= 4 and word.startswith(beginning):
                best = max(best, 0.75)
    return best
