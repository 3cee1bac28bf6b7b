"""What a plan says, in words, a table of plain text, and a figure."""

from reportgen.metrics.planning import TWICE, TrialPlan, Variation, Wish
from reportgen.model.document import Figure

NOT_KNOWN = "not known"
TOO_MANY = "more than 1000 trays"
ASSUMED = (
    "Both treatments are taken to vary alike and to stand without blocks. Blocks that take out real differences "
    "between places need fewer trays; lost trays need more."
)


def text(variation: Variation, wish: Wish, plan: TrialPlan) -> str:
    """Return the plan as lines of plain text."""
    head = ("trays a treatment", f"{wish.plants} plants a tray", f"{TWICE * wish.plants} plants a tray")
    rows = [(str(row.trays), _percent(row.smallest), _percent(row.with_twice)) for row in plan.rows]
    lines = [
        _variation(variation),
        "",
        _needed(wish, plan),
        "",
        "The smallest difference that each number of trays shows:",
        "",
    ]
    lines += ["  ".join(cell.rjust(len(title)) for cell, title in zip(row, head, strict=True)) for row in (head, *rows)]
    return "\n".join([*lines, "", _plants(wish, plan), ASSUMED, ""])


def _variation(variation: Variation) -> str:
    said = (
        f"Fresh weights vary by {_cv(variation.between)} between trays and by {_cv(variation.within)} between plants "
        "in a tray (coefficients of variation)"
    )
    if not variation.degrees_between:
        return f"{said}, as typed."
    return (
        f"{said}, learnt from earlier trials ({variation.degrees_between} degrees of freedom between trays, "
        f"{variation.degrees_within} within)."
    )


def _needed(wish: Wish, plan: TrialPlan) -> str:
    return (
        f"To show a difference of {_percent(wish.difference)} with {_percent(wish.power)} power at the "
        f"{_percent(wish.level)} level, {wish.plants} plants a tray: {_trays(plan.needed)} a treatment."
    )


def _plants(wish: Wish, plan: TrialPlan) -> str:
    share = "nothing" if plan.share_between is None else _percent(plan.share_between)
    return (
        f"More plants a tray help only the part that lies within trays: {share} of the variance of a tray's mean lies "
        f"between trays and stays. With {TWICE * wish.plants} plants a tray it takes {_trays(plan.needed_with_twice)}, "
        f"with endless plants still {_trays(plan.needed_with_endless)}."
    )


def _trays(number: int | None) -> str:
    return TOO_MANY if number is None else _counted(number)


def _counted(number: int) -> str:
    return "1 tray" if number == 1 else f"{number} trays"


def _percent(value: float | None) -> str:
    return NOT_KNOWN if value is None else f"{100 * value:.3g} %"


def _cv(variance: float) -> str:
    return _percent(variance**0.5)


def figure(wish: Wish, plan: TrialPlan) -> Figure | None:
    """Return the chart of the smallest difference against the number of trays."""
    from reportgen.charts.planning import Detectable, smallest_difference
    from reportgen.charts.theme import spec

    rows = [Detectable(row.trays, wish.plants, row.smallest) for row in plan.rows]
    rows += [Detectable(row.trays, TWICE * wish.plants, row.with_twice) for row in plan.rows]
    chart = smallest_difference(rows, wish.level, wish.power)
    if chart is None:
        return None
    return Figure("plan", "Smallest difference that a number of trays shows.", _needed(wish, plan), spec(chart))
