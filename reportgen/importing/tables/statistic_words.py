"""Words of seven languages for statistics, as growers write them beside a total or a mean."""

import re
from typing import Final

from reportgen.importing.model.tables import Statistic

WORDS: Final = {
    Statistic.SUM: "total totals totaal totale totales totali totais sum summe som somme somma suma soma gesamt "
    "insgesamt gesamtsumme subtotal subtotaal subtotale subtotali zwischensumme sous-total totaux ertragssumme Σ ∑",
    Statistic.MEAN: "mean means average averages avg mittelwert mittelwerte mittel durchschnitt durchschn schnitt "
    "moyenne moyennes moy media medie médias média promedio gemiddelde gemiddeld gem Ø x̄",
    Statistic.COUNT: "n count anzahl aantal nombre conteo conteggio contagem",
    Statistic.SPREAD: "sd std stdev stdevp stddev se sem cv variance varianz varianza variantie variância stabw stabwn "
    "standardabweichung standaardafwijking standaarddeviatie écart-type ecart-type desviación desviacion deviazione "
    "desvio sdev s.d. s.e. s.e.m. spread",
    Statistic.OTHER: "min max minimum maximum median mediaan mediana médiane medianwert minimo massimo mínimo máximo "
    "range spannweite",
}
ALONE: Final = frozenset("n se sd cv min max gem moy mittel schnitt media range som count nombre spread".split())
PREFIXES: Final = re.compile(r"^(grand|overall|sub|general|standard|the|alle|all)[\s-]+", re.IGNORECASE)
WORD: Final = re.compile(r"^[^\W\d_]+(?:[-.][^\W\d_]+)*\.?|^[ØøΣ∑]|^x̄")
BY_WORD: Final = {word.casefold(): statistic for statistic, words in WORDS.items() for word in words.split()}


def statistic_of(label: str) -> Statistic | None:
    """Return the statistic that a label begins with, such as `Totaal rij 1` or `Ø`, None where it names none."""
    text = label.strip().casefold()
    without_prefix = PREFIXES.sub("", text)
    if without_prefix.startswith("deviation"):
        return Statistic.SPREAD
    match = WORD.match(without_prefix)
    if not match:
        return None
    word = match[0] if match[0] in BY_WORD else match[0].rstrip(".")
    rest = without_prefix[match.end() :].strip(" .:=")
    if word in ALONE and rest and rest[0] != "(":
        return None
    return BY_WORD.get(word)


def is_weak(label: str) -> bool:
    """Tell whether a label names a statistic by a word that may as well be a code: n, se, min."""
    return label.strip().casefold().rstrip(".") in ALONE
