"""When a result changed: neither words nor a build nor a saved workbook make it new."""

import json
from datetime import UTC, datetime

import feedparser
import pytest

from reportgen import pipeline
from reportgen.building import manifest, result_date
from reportgen.building.manifest import Noted
from tests.workbooks import least, put, write

pytestmark = pytest.mark.usefixtures("drawn_once")
NOW = 1_800_000_000  # s since 1970
WITHOUT_PDF = pipeline.BuildOptions(pdf=False, jobs=1)


def results(**changes):
    found = {
        "trial": {"interim": False, "title": "Mint"},
        "estimates": [
            {"metric": "fresh_weight", "treatment": "a", "value": 100.0, "low": None, "high": 110.0}
        ],
        "verdicts": [{"metric": "fresh_weight", "treatment": "b", "code": "more"}],
        "fairness": [{"check": "losses", "verdict": "sound", "finding": "None died."}],
    }
    return result_date.digest_of(json.dumps(found | changes))


def test_words_and_digits_beyond_the_sixth_are_no_other_result():
    same = [
        {
            "metric": "fresh_weight",
            "treatment": "a",
            "value": 100.00000001,
            "low": None,
            "high": 110.0,
        }
    ]
    worded = [{"check": "losses", "verdict": "sound", "finding": "No plant died."}]
    assert results() == results(estimates=same) == results(fairness=worded)
    assert results() == results(trial={"interim": False, "title": "Mint again"})


@pytest.mark.parametrize(
    "changes",
    [
        {"trial": {"interim": True}},
        {
            "estimates": [
                {
                    "metric": "fresh_weight",
                    "treatment": "a",
                    "value": 100.1,
                    "low": None,
                    "high": 110.0,
                }
            ]
        },
        {"verdicts": [{"metric": "fresh_weight", "treatment": "b", "code": "unclear"}]},
        {"fairness": [{"check": "losses", "verdict": "problem", "finding": "None died."}]},
    ],
)
def test_another_figure_verdict_or_check_is_another_result(changes):
    assert results(**changes) != results()


def test_a_first_result_has_no_date_of_change_and_the_same_result_keeps_its_own():
    assert result_date.changed_at(None, "new", "now") == ""
    assert (
        result_date.changed_at(Noted({}), "new", "now") == ""
    )  # a note of an earlier version of the program
    assert (
        result_date.changed_at(Noted({}, result="same", changed_at="then"), "same", "now") == "then"
    )
    assert (
        result_date.changed_at(Noted({}, result="other", changed_at="then"), "new", "now") == "now"
    )


def test_the_present_moment_can_be_named(monkeypatch):
    # reproducible-builds.org, "SOURCE_DATE_EPOCH": seconds since 1970-01-01 UTC
    monkeypatch.setenv("SOURCE_DATE_EPOCH", str(NOW))
    assert result_date.moment() == datetime.fromtimestamp(NOW, UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def built(tmp_path, sheets, moment, monkeypatch, options=WITHOUT_PDF):
    """Return the date of the only entry of a site's feed after a build at a moment, and that of the
    feed.
    """
    monkeypatch.setenv("SOURCE_DATE_EPOCH", str(moment))
    book = write(sheets, tmp_path / "trial.xlsx")
    (made,) = pipeline.build((book,), tmp_path / "site", options=options)
    assert made.page, made.problems
    read = feedparser.parse((tmp_path / "site" / "feed.xml").read_bytes())
    assert read.feed.updated == read.entries[0].updated
    return read.entries[0].updated


def test_the_feed_dates_a_report_by_its_result(tmp_path, monkeypatch):
    first = built(tmp_path, least(), NOW, monkeypatch)
    assert first.endswith("T00:00:00Z")  # the day of harvest
    retitled = put(least(), Trial_B2="Another title")
    assert built(tmp_path, retitled, NOW + 10, monkeypatch) == first
    heavier = put(retitled, Plants_C2=99.0)
    changed = built(tmp_path, heavier, NOW + 20, monkeypatch)
    assert changed == datetime.fromtimestamp(NOW + 20, UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    anew = pipeline.BuildOptions(pdf=False, jobs=1, rebuild=True)
    assert built(tmp_path, heavier, NOW + 30, monkeypatch, anew) == changed
    note = manifest.noted(tmp_path / "site" / "trial" / manifest.NAME)
    assert note
    assert note.changed_at == changed
