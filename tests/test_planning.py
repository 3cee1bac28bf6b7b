"""Planning: trays needed, differences shown, and what more plants can help."""

import dataclasses

import pytest
from click.testing import CliRunner

from reportgen.cli import main
from reportgen.metrics.planning import Variation, Wish, plan, pooled, variation_of
from tests.workbooks import good, put, trial, write

NEEDED_BY_R = 7


def run(*words):
    return CliRunner().invoke(main, ["plan", *map(str, words)])


def test_smallest_differences_are_those_of_the_noncentral_t():
    # Smallest detectable difference at 80 % power, in standard deviations of tray means, for 2, 3, 4, 6, 10 trays a
    # side: 5.65, 3.07, 2.38, 1.80, 1.32; as R's power.t.test(n, power = .8, strict = TRUE)$delta gives them.
    made = plan(Variation(0.01, 0.0), Wish(0.2, 6))
    shown = {row.trays: row.smallest / 0.1 for row in made.rows}
    for trays, expected in {2: 5.65, 3: 3.07, 4: 2.38, 6: 1.80, 10: 1.32}.items():
        assert shown[trays] == pytest.approx(expected, abs=0.005)


def test_trays_needed_are_those_of_r():
    # R: power.t.test(delta = 20, sd = sqrt(8^2 + 22^2 / 6), power = .8, strict = TRUE)$n gives 6.79, so 7 trays.
    made = plan(Variation(0.08**2, 0.22**2), Wish(0.2, 6))
    assert made.needed == NEEDED_BY_R


def test_more_plants_help_only_the_part_within_trays():
    # By definition: the variance of a tray's mean is between + within / plants.
    made = plan(Variation(0.01, 0.04), Wish(0.2, 4))
    assert made.share_between == pytest.approx(0.5)
    assert made.needed > made.needed_with_twice > made.needed_with_endless
    assert all(row.with_twice < row.smallest for row in made.rows)
    nothing_within = plan(Variation(0.01, 0.0), Wish(0.2, 4))
    assert nothing_within.needed == nothing_within.needed_with_endless
    assert nothing_within.share_between == 1


def test_variation_is_learnt_from_weights_relative_to_their_treatment(tmp_path):
    made = trial(write(good(), tmp_path / "trial.xlsx"))
    learnt = variation_of(made)
    doubled = tuple(
        dataclasses.replace(plant, fresh_weight=plant.fresh_weight * (2 if plant.tray.startswith("B") else 1))
        for plant in made.plants
    )
    again = variation_of(dataclasses.replace(made, plants=doubled))
    assert (again.between, again.within) == pytest.approx((learnt.between, learnt.within), rel=1e-12)
    assert (learnt.degrees_between, learnt.degrees_within) == (4, 18)


def test_trials_are_pooled_by_their_degrees_of_freedom():
    assert pooled([]) is None
    together = pooled([Variation(0.01, 0.04, 4, 20), Variation(0.04, 0.01, 2, 10)])
    assert (together.between, together.within) == pytest.approx((0.02, 0.03))
    assert (together.degrees_between, together.degrees_within) == (6, 30)


def test_a_trial_of_single_trays_teaches_nothing(tmp_path):
    sheets = good()
    sheets["Trays"] = [row for row in sheets["Trays"] if row[0] in ("Tray", "A1", "B1")]
    sheets["Plants"] = [row for row in sheets["Plants"] if row[0] in ("Tray", "A1", "B1")]
    sheets["Solution"] = [row for row in sheets["Solution"] if row[0] in ("Tray", "A1", "B1")]
    done = run(write(sheets, tmp_path / "trial.xlsx"), "--difference", 20)
    assert done.exit_code == 2
    assert "two trays of a treatment" in done.output


def test_the_command_says_trays_table_and_what_plants_help():
    done = run("--difference", 20, "--between", 8, "--within", 22, "--plants", 6)
    assert done.exit_code == 0
    assert "as typed" in done.output
    assert f"{NEEDED_BY_R} trays a treatment" in done.output
    rows = [line.split() for line in done.output.splitlines() if line.strip()[:1].isdigit()]
    assert [row[0] for row in rows] == ["2", "3", "4", "5", "6", "8", "10", "12"]
    assert "of the variance of a tray's mean lies between trays and stays" in done.output


def test_the_command_learns_from_earlier_workbooks_and_draws_its_figure(tmp_path):
    (tmp_path / "log").mkdir()
    for name in ("one", "two"):
        write(good(), tmp_path / "log" / f"{name}.xlsx")
    done = run(tmp_path / "log", "--difference", 15, "--figure", tmp_path / "plan.svg")
    assert done.exit_code == 0
    assert "8 degrees of freedom between trays, 36 within" in done.output
    assert b"<svg" in (tmp_path / "plan.svg").read_bytes()


def test_a_workbook_with_errors_and_words_that_do_not_go_together_are_told(tmp_path):
    spoilt = write(put(good(), Plants_C3="1O"), tmp_path / "trial.xlsx")
    assert (run(spoilt, "--difference", 20).exit_code, "Plants!C3" in run(spoilt, "--difference", 20).output) == (
        1,
        True,
    )
    for words in ((), ("--between", 5), (spoilt, "--between", 5, "--within", 6)):
        assert run(*words, "--difference", 20).exit_code == 2
    assert run("--between", 0, "--within", 0, "--difference", 20).exit_code == 2
