"""Where trays stood, and where the light fell."""

from reportgen.language import say
from reportgen.metrics.totals import planted
from reportgen.model.document import Figure
from reportgen.model.results import Results
from reportgen.model.trial import Tray, Trial
from reportgen.report import figure_texts, figure_titles, units, wording
from reportgen.report.figures.drawing import drawn


def layout(trial: Trial) -> tuple[Figure, ...]:
    """Return the plan of where each tray stood."""
    from reportgen.charts.layout import layout_plan

    named = wording.unit_of(trial, 2)
    said = "; ".join(_place(trial, tray) for tray in planted(trial))
    return drawn(
        "layout",
        lambda width: layout_plan(trial, width),
        say(
            "Each box is a {unit}: its code, its treatment, its position.",
            unit=wording.unit_of(trial),
        ),
        say("Places of the {units}: {places}.", units=named, places=said),
        say("Where the {units} stood", units=named),
    )


def _place(trial: Trial, tray: Tray) -> str:
    known = {"tray": tray.code, "name": wording.name_of(trial, tray.treatment)}
    if tray.block and tray.position:
        return say(
            "{tray} ({name}) in block {block} at {position}",
            block=tray.block,
            position=tray.position,
            **known,
        )
    if tray.block:
        return say("{tray} ({name}) in block {block}", block=tray.block, **known)
    if tray.position:
        return say("{tray} ({name}) at {position}", position=tray.position, **known)
    return f"{known['tray']} ({known['name']})"


def light_map(trial: Trial, results: Results) -> tuple[Figure, ...]:
    """Return the map of PPFD of each treatment."""
    from reportgen.charts.light import ppfd_map

    keys = ("ppfd", "ppfd_uniformity", "dli")
    found = [result for key in keys if (result := wording.result_of(results, key)) is not None]
    said = " ".join(figure_texts.values_text(trial, result) for result in found)
    length = units.shown_as("cm", units.current().system, 0.0)
    return drawn(
        "light-map",
        lambda width: ppfd_map(trial, width=width, length=(length.unit, length.factor)),
        say("Each circle is a place at the canopy; one scale for all treatments."),
        said,
        figure_titles.of_verdicts(trial, results, found[0]) if found else "",
    )
