"""Blocks as rows: the trays of one block joined, the averages in the last row."""

from dataclasses import replace

import pytest

from reportgen.charts import blocks, theme
from tests.test_charts import NAMES, data, drawn, invented, weighed, words
from tests.test_charts_light import UP_TO_60, _fonts, assert_readable

assert _fonts  # the figures of this file are measured in the font too


def of(trial, width=theme.WIDTH):
    printed = {treatment.code: "23 (21 to 25)" for treatment in trial.treatments}
    return blocks.block_dots(trial, weighed(trial), printed, width)


@pytest.mark.parametrize("width", [theme.WIDTH, theme.NARROW])
@pytest.mark.parametrize("count", [2, 3, 5])
def test_blocks_of_up_to_five_treatments_are_readable(count, width):
    assert_readable(
        of(invented(UP_TO_60[:count]), width), [*UP_TO_60[:count], "Shelf 1", "Average"], width
    )


def test_each_row_joins_the_trays_of_its_block():
    trial = invented(NAMES[:2])
    scores = dict(weighed(trial).scores)
    trays = data(of(trial), "trays")
    for row in data(of(trial), "joins")[:4]:
        ends = sorted(tray["value"] for tray in trays if tray["y"] == row["y"])
        assert ends == [row["value"], row["to"]]
    assert sorted(tray["value"] for tray in trays) == sorted(scores.values())


def test_the_last_row_has_the_averages():
    chart = of(invented(NAMES[:2]))
    assert [row["value"] for row in data(chart, "averages")] == [23.0, 23.0]
    assert min(row["y"] for row in data(chart, "averages")) > max(
        row["y"] for row in data(chart, "trays")
    )


def test_a_block_without_one_tray_of_each_treatment_gives_no_rows():
    trial = invented(NAMES[:2])
    lacking = replace(weighed(trial), scores=weighed(trial).scores[1:])
    assert blocks.blocks_of(trial, lacking) == {}
    apart = replace(trial, trays=tuple(replace(tray, block="") for tray in trial.trays))
    assert blocks.block_dots(apart, weighed(apart), {}) is None
    assert (
        blocks.blocks_of(invented(NAMES[:2], blocks=1), weighed(invented(NAMES[:2], blocks=1)))
        == {}
    )


def test_blocks_stand_in_natural_order():
    trial = invented(NAMES[:2], blocks=11)
    assert list(blocks.blocks_of(trial, weighed(trial)))[:3] == ["Shelf 1", "Shelf 2", "Shelf 3"]
    text = words(drawn(of(trial))).split("\n")
    assert text.index("Shelf 2") < text.index("Shelf 10")
