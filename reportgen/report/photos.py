"""The photos of a trial by day, side by side by treatment; and what was seen and not photographed."""

from datetime import date

from reportgen.language import say
from reportgen.model.document import Facts, Photo, PhotoDay, Section
from reportgen.model.trial import Observation, PhotoFile, Trial
from reportgen.report import numbers, wording


def section(trial: Trial) -> Section | None:
    """Return the photos of each day, treatments in the order of the trial; None without any."""
    files = {photo.name: photo for photo in trial.photos if photo.content}
    shown = [observation for observation in trial.observations if observation.photo in files]
    shown.sort(key=lambda observation: (observation.on, _place(trial, observation)))
    by_day: dict[date, list[Photo]] = {}
    for observation in shown:
        photo = _photo(trial, observation, files[observation.photo])
        by_day.setdefault(observation.on, []).append(photo)
    days: list[PhotoDay] = []
    for day, photos in by_day.items():
        days.append(PhotoDay(numbers.day(day), tuple(photos)))
    if days:
        return Section("photos", say("Photos"), tuple(days))
    return None


def observations(trial: Trial) -> Section | None:
    """Return what was seen and not photographed, by date; None where there is nothing."""
    files = {photo.name for photo in trial.photos if photo.content}
    facts: list[tuple[str, str]] = []
    for observation in sorted(trial.observations, key=lambda observation: observation.on):
        if observation.photo not in files:
            facts.append((_when_and_where(trial, observation), observation.text))
    if facts:
        return Section("observations", say("Observations"), (Facts(tuple(facts)),))
    return None


def _place(trial: Trial, observation: Observation) -> int:
    """Return the place of an observation's treatment in the order of the trial, last where it is of
    none.
    """
    order = [treatment.code for treatment in trial.treatments]
    treatment = _treatment(trial, observation)
    if treatment in order:
        return order.index(treatment)
    return len(order)


def _photo(trial: Trial, observation: Observation, file: PhotoFile) -> Photo:
    caption = f"{_when_and_where(trial, observation)}: {_without_name(trial, observation)}"
    alternative = observation.photo_description or say(
        "A photo that nobody has described in words."
    )
    return Photo(file.key, caption, alternative, file.content, file.width, file.height)


def _without_name(trial: Trial, observation: Observation) -> str:
    """Return what was seen, without the treatment's name at its beginning: that stands before it."""
    code = _treatment(trial, observation)
    if not code:
        return observation.text
    rest = observation.text.removeprefix(wording.name_of(trial, code)).lstrip(" ,:")
    return rest or observation.text


def _treatment(trial: Trial, observation: Observation) -> str:
    """Return the code of an observation's treatment, empty where it is of all."""
    of_trays = {tray.code: tray.treatment for tray in trial.trays}
    return observation.treatment or of_trays.get(observation.tray, "")


def _when_and_where(trial: Trial, observation: Observation) -> str:
    code = _treatment(trial, observation)
    if code:
        treatment = wording.name_of(trial, code)
    else:
        treatment = ""
    if observation.tray:
        tray = f"{wording.unit_of(trial)} {observation.tray}"
    else:
        tray = ""
    return ", ".join(part for part in (numbers.day(observation.on), treatment, tray) if part)
