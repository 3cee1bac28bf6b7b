"""The photos of a trial by day, side by side by treatment; and what was seen and not photographed."""

from itertools import groupby

from reportgen.language import say
from reportgen.model.document import Facts, Photo, PhotoDay, Section
from reportgen.model.trial import Observation, PhotoFile, Trial
from reportgen.report import numbers, wording


def section(trial: Trial) -> Section | None:
    """Return the photos of each day, treatments in the order of the trial; None where there are
    none.
    """
    files = {one.name: one for one in trial.photos if one.content}
    shown = [one for one in trial.observations if one.photo in files]
    shown.sort(key=lambda one: (one.on, _place(trial, one)))
    days = [
        PhotoDay(numbers.day(day), tuple(_photo(trial, one, files[one.photo]) for one in seen))
        for day, seen in groupby(shown, key=lambda one: one.on)
    ]
    if days:
        return Section("photos", say("Photos"), tuple(days))
    return None


def observations(trial: Trial) -> Section | None:
    """Return what was seen and not photographed, by date; None where there is nothing."""
    files = {one.name for one in trial.photos if one.content}
    seen = [one for one in trial.observations if one.photo not in files]
    facts = tuple(
        (_when_and_where(trial, one), one.text) for one in sorted(seen, key=lambda one: one.on)
    )
    if facts:
        return Section("observations", say("Observations"), (Facts(facts),))
    return None


def _place(trial: Trial, one: Observation) -> int:
    """Return the place of an observation's treatment in the order of the trial, last where it is of
    none.
    """
    of_trays = {tray.code: tray.treatment for tray in trial.trays}
    order = [treatment.code for treatment in trial.treatments]
    treatment = one.treatment or of_trays.get(one.tray, "")
    if treatment in order:
        return order.index(treatment)
    return len(order)


def _photo(trial: Trial, one: Observation, file: PhotoFile) -> Photo:
    caption = f"{_when_and_where(trial, one)}: {one.text}"
    treatment = _treatment(trial, one)
    if treatment and one.text.casefold().startswith(treatment.casefold()):
        caption = f"{numbers.day(one.on)}: {one.text}"
    alternative = one.photo_description or say("A photo that nobody has described in words.")
    return Photo(file.key, caption, alternative, file.content, file.width, file.height)


def _treatment(trial: Trial, one: Observation) -> str:
    """Return the name of the treatment that an observation is of, empty where it is of none."""
    of_trays = {tray.code: tray.treatment for tray in trial.trays}
    code = one.treatment or of_trays.get(one.tray, "")
    if code:
        return wording.name_of(trial, code)
    return ""


def _when_and_where(trial: Trial, one: Observation) -> str:
    if one.tray:
        tray = f"{wording.unit_of(trial)} {one.tray}"
    else:
        tray = ""
    parts = (numbers.day(one.on), _treatment(trial, one), tray)
    return ", ".join(part for part in parts if part)
