"""Words in place of a number."""

from typing import Final

from reportgen.importing.model.cells import Conventions, Kind

_MISSING: Final = """
- -- --- – — . .. ... ? na n/a n.a. n.a nan null nil nd n/d n.d. s/d k.a. ka missing unknown
fehlt fehlend manquant falta faltante mancante ontbreekt ausente
not_measured no_data not_weighed nicht_gemessen keine_angabe sin_dato sin_datos no_medido non_mesuré pas_mesuré
non_misurato niet_gemeten geen_gegevens não_medido sem_dados
"""
_LOST: Final = """
dead died lost † dying tot eingegangen verloren gestorben muerta muerto murió perdida perdido mort morte morts perdu
perdue morto morta perso persa dood gestorven uitgevallen morreu
"""
MISSING: Final = frozenset(word.replace("_", " ") for word in _MISSING.split())
LOST: Final = frozenset(_LOST.split())


def kind_of(word: str, conventions: Conventions) -> Kind | None:
    """Return what a word in place of a number means, as far as it is known; its owner's lists go first."""
    small = word.casefold()
    if small in conventions.lost:
        return Kind.LOST
    if small in conventions.missing:
        return Kind.MISSING
    if small in LOST:
        return Kind.LOST
    return Kind.MISSING if small in MISSING else None
