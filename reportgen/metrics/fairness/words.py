"""Verdicts, and the words that findings share: few digits, treatments by their names, units on every figure."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from reportgen.metrics.totals import planted
from reportgen.model.results import VerdictWord
from reportgen.model.trial import Trial

Finding = tuple[VerdictWord, str]
Values = Mapping[str, float]  # by treatment's code

SMALLEST = 0.01  # in its unit: no instrument of a grower shows less
ROUNDING = 1e-9  # relative: a value this close to a limit is on it
GRAVEST_FIRST: tuple[VerdictWord, ...] = ("problem", "caution", "not recorded", "sound")


def worst(*verdicts: VerdictWord) -> VerdictWord:
    """Return the gravest of some verdicts; what was not recorded is graver than what is sound, no more."""
    return min(verdicts, key=GRAVEST_FIRST.index)


def gravity(finding: Finding) -> int:
    """Return a key that sorts the gravest findings first."""
    return GRAVEST_FIRST.index(finding[0])


def together(*findings: Finding) -> Finding:
    """Return the gravest verdict of some findings, with all that they say."""
    return worst(*(verdict for verdict, _ in findings)), " ".join(said for _, said in findings)


def at_most(value: float, sound: float, caution: float) -> VerdictWord:
    """Return the verdict on a value that is sound up to one limit and a caution up to the next."""
    if value <= sound + ROUNDING * abs(sound):
        return "sound"
    return "caution" if value <= caution + ROUNDING * abs(caution) else "problem"


def at_least(value: float, sound: float, caution: float) -> VerdictWord:
    """Return the verdict on a value that is sound down to one limit and a caution down to the next."""
    return at_most(-value, -sound, -caution)


def figure(value: float) -> str:
    """Return a number to three significant digits, `less than 0.01` where there are none to speak of."""
    if 0 < abs(value) < SMALLEST:
        return f"less than {SMALLEST}"
    return f"{float(f'{value:.3g}'):.12g}"


def percent(share: float) -> str:
    """Return a share such as `12.5 %`; `100 %` only where it is the whole."""
    text = figure(round(100 * share, 1)) if round(100 * share, 1) else figure(100 * share)
    return f"just under {text} %" if text == "100" and share < 1 - ROUNDING else f"{text} %"


def day(value: date) -> str:
    """Return a date as readers say it."""
    from babel.dates import format_date

    return format_date(value, "d MMMM y", locale="en")


def count(number: int, noun: str) -> str:
    """Return a number with its noun, such as `1 tray` or `4 trays`."""
    return f"{number} {noun}{'s' * (number != 1)}"


def listed(items: Sequence[str]) -> str:
    """Return `a`, `a and b`, `a, b and c`."""
    return " and ".join(filter(None, (", ".join(items[:-1]), *items[-1:])))


def names(trial: Trial, codes: Iterable[str]) -> str:
    """Return the names of some treatments, in the order of the trial."""
    wanted = set(codes)
    return listed([treatment.name for treatment in trial.treatments if treatment.code in wanted])


def each(trial: Trial, texts: Mapping[str, str]) -> str:
    """Return what is said of each treatment that something is said of: `21 °C for Warm and 19 °C for Cold`."""
    return listed([f"{texts[one.code]} for {one.name}" for one in trial.treatments if one.code in texts])


def lacking(trial: Trial, known: Iterable[str]) -> list[str]:
    """Return the codes of the treatments that nothing is known of."""
    found = set(known)
    return [treatment.code for treatment in trial.treatments if treatment.code not in found]


def means(trial: Trial, values: Mapping[str, float]) -> dict[str, float]:
    """Return each treatment's mean of its trays' values, trays without plants and without a value left out."""
    found: dict[str, list[float]] = {}
    for tray in planted(trial):
        if tray.code in values:
            found.setdefault(tray.treatment, []).append(values[tray.code])
    return {code: sum(own) / len(own) for code, own in found.items()}
