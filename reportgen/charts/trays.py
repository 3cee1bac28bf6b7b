"""Trays side by side along the x axis, treatment by treatment."""

from collections.abc import Collection, Mapping, Sequence
from itertools import groupby
from typing import Any

import altair as alt

from reportgen.charts.theme import CHARACTER, LABEL_LENGTH, WIDTH, Look
from reportgen.model.trial import Tray, Trial


def by_treatment(trial: Trial, looks: Mapping[str, Look], codes: Collection[str]) -> list[Tray]:
    """Return the trays among `codes`, in the order of the treatments, then of the workbook."""
    order = list(looks)
    known = [tray for tray in trial.trays if tray.code in codes and tray.treatment in looks]
    return sorted(known, key=lambda tray: order.index(tray.treatment))


def labels(tray: Tray, looks: Mapping[str, Look]) -> dict[str, Any]:
    """Return the fields that place a tray in a figure."""
    return {"tray": tray.code, "treatment": looks[tray.treatment].name}


def axis(trays: Sequence[Tray], title: str | list[str], gap: float = 4) -> alt.X:
    """Return the x channel of the field `tray`, a place left free between treatments; labels `gap` px below."""
    places = _places(trays)
    longest = min(max((len(tray.code) for tray in trays), default=0), LABEL_LENGTH)
    upright = longest * CHARACTER + 6 < step([tray.treatment for tray in trays])
    look = alt.Axis(labelAngle=0 if upright else -90, labelOverlap=True, ticks=False, grid=False, labelPadding=gap)
    scale = alt.Scale(domain=places, paddingInner=0, paddingOuter=0.2)
    return alt.X("tray:N", scale=scale, title=title, axis=look)


def step(treatments: Sequence[str]) -> float:
    """Return the width of one tray's place in px, about; `treatments` are those of the trays in order."""
    return (WIDTH - 70) / (len(treatments) + len(set(treatments)) - 1 + 0.4)


def _places(trays: Sequence[Tray]) -> list[str]:
    places: list[str] = []
    for number, (_, group) in enumerate(groupby(trays, key=lambda tray: tray.treatment)):
        places += [" " * number] * (number > 0) + [tray.code for tray in group]
    return places
