"""What the report of an unfinished trial says of itself.

That it is interim, what is recorded, what is to come.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from reportgen.language import marked, marked_plural, plural, say
from reportgen.metrics.totals import harvested_in
from reportgen.model.document import Table
from reportgen.model.trial import Trial
from reportgen.report import numbers, wording

TITLE: Final = marked("Interim: {title}")
NOTICE: Final = marked(
    "Interim report. The trial is not finished: what was recorded up to {day} stands here, nothing"
    " is compared yet, and the final report takes its place once the harvest is complete."
)
NO_RESULT: Final = marked("Not finished: no result yet")
SO_FAR: Final = marked("{kept} of {started} plants harvested: no result yet")
ANSWER: Final = marked(
    "This trial is not finished, so it does not yet tell how the treatments compare."
)
RECORDED: Final = marked("Recorded up to {day}: {each}.")
TO_COME: Final = marked("Still to come: {each}.")
HARVESTED: Final = marked(
    "So far {kept} of {started} plants were harvested. Figures by weight are of {units} whose"
    " harvest is complete."
)
LOST: Final = marked("Of the others, {lost}.")
DATES: Final = marked("{start} to {day} ({days} so far)")


@dataclass(frozen=True)
class Kind:
    """A kind of record: its name as a row heading, and how it is counted in a sentence."""

    name: str
    counted: tuple[str, str]


KINDS: Final[Mapping[str, Kind]] = {  # by the sheet of the workbook
    "Plants": Kind(
        marked("Plants harvested"),
        marked_plural("{number} plant harvested", "{number} plants harvested"),
    ),
    "Growth": Kind(
        marked("Measurements of growth"),
        marked_plural("{number} measurement of growth", "{number} measurements of growth"),
    ),
    "Harvests": Kind(marked("Pickings"), marked_plural("{number} picking", "{number} pickings")),
    "Solution": Kind(
        marked("Volumes of solution"),
        marked_plural("{number} volume of solution", "{number} volumes of solution"),
    ),
    "Meter": Kind(
        marked("Meter readings"), marked_plural("{number} meter reading", "{number} meter readings")
    ),
    "Light": Kind(
        marked("Light readings"), marked_plural("{number} light reading", "{number} light readings")
    ),
    "Climate": Kind(
        marked("Climate readings"),
        marked_plural("{number} climate reading", "{number} climate readings"),
    ),
    "Observations": Kind(
        marked("Observations"), marked_plural("{number} observation", "{number} observations")
    ),
}
PLANTS_TO_COME: Final = marked_plural("{number} plant to harvest", "{number} plants to harvest")


def title(trial: Trial) -> str:
    """Return the title of a trial, marked where its report is interim.

    Every place that shows a title shows this.
    """
    if trial.interim:
        return say(TITLE, title=trial.about.title)
    return trial.about.title


def headline(trial: Trial) -> str:
    """Return how far an unfinished trial is."""
    started = sum(tray.plants_started for tray in trial.trays)
    kept = sum(map(harvested_in, trial.plants))
    if trial.pickings or not 0 < kept < started:
        return say(NO_RESULT)
    return say(SO_FAR, kept=kept, started=started)


def notice(trial: Trial) -> str:
    """Return what stands at the top of an interim report; empty for a final one."""
    if trial.interim:
        return say(NOTICE, day=_as_of(trial))
    return ""


def answer(trial: Trial) -> tuple[str, ...]:
    """Return that there is no answer yet, what was recorded, and what is still to come."""
    recorded: list[str] = []
    for sheet, number in _recorded(trial).items():
        if number:
            recorded.append(plural(*KINDS[sheet].counted, number))
    to_come = tuple(_to_come(sheet, number) for sheet, number in _lacking(trial).items())
    sentences = [say(ANSWER)]
    if recorded:
        records = numbers.listed(tuple(recorded))
        sentences.append(say(RECORDED, day=_as_of(trial), each=records))
    if to_come:
        sentences.append(say(TO_COME, each=numbers.listed(to_come)))
    return tuple(sentences)


def dates(trial: Trial, days: str) -> str:
    """Return from when to when an unfinished trial has run; `days` says for how long."""
    return say(DATES, start=numbers.day(trial.started_on), day=_as_of(trial), days=days)


def harvested(trial: Trial, kept: int, lost: str) -> str:
    """Return how many plants were harvested so far, and which were lost."""
    started = sum(tray.plants_started for tray in trial.trays)
    so_far = say(HARVESTED, kept=kept, started=started, units=wording.unit_of(trial, 2))
    if lost:
        return f"{so_far} {say(LOST, lost=lost)}"
    return so_far


def table(trial: Trial) -> Table:
    """Return how much of each kind was recorded, and how much is still to come."""
    lacking = _lacking(trial)
    rows: list[tuple[str, ...]] = []
    for sheet, number in _recorded(trial).items():
        if number or sheet in lacking:
            rows.append((say(KINDS[sheet].name), str(number), str(lacking.get(sheet, 0))))
    head = (say("Kind of record"), say("Recorded"), say("Still to come"))
    return Table(
        "progress",
        say("What is recorded and what is still to come"),
        head,
        tuple(rows),
        (False, True, True),
    )


def _as_of(trial: Trial) -> str:
    return numbers.day(trial.as_of or trial.harvested_on)


def _recorded(trial: Trial) -> Mapping[str, int]:
    """Return the number of records of each kind, by the sheet of the workbook."""
    is_picked = bool(trial.pickings)  # its plants stand until the last picking
    return {
        "Plants": 0 if is_picked else sum(map(harvested_in, trial.plants)),
        "Growth": len(trial.growth),
        "Harvests": len(trial.pickings),
        "Solution": len(trial.solution),
        "Meter": len(trial.meter),
        "Light": len(trial.light),
        "Climate": 0 if trial.climate is None else trial.climate.at.size,
        "Observations": len(trial.observations),
    }


def _lacking(trial: Trial) -> Mapping[str, int]:
    return {column.sheet: column.number for column in trial.to_come if column.sheet in KINDS}


def _to_come(sheet: str, number: int) -> str:
    return plural(*(PLANTS_TO_COME if sheet == "Plants" else KINDS[sheet].counted), number)
