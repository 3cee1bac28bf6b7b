"""Planning: trays needed, differences shown, what more plants can help, and the command that lays
the trial out.
"""

import dataclasses
import shlex
from math import log1p

import numpy as np
import pytest
from click.testing import CliRunner

from reportgen import cli
from reportgen.cli import main
from reportgen.metrics.planning import (
    PowerTarget,
    Variation,
    plan,
    pooled,
    typed_variation,
    typical_variation,
    variation_of,
)
from reportgen.stats.power import Layout, Spread, assurance, power_of, units_needed
from reportgen.stats.student import two_sided_p_value
from tests.workbooks import good, put, trial, write

NEEDED_BY_R = 8
FIFTH = PowerTarget(0.2)


def run(*words, **more):
    return CliRunner().invoke(main, ["plan", *map(str, words)], **more)


def command_of(output):
    """Return the words of the command that a plan ends in."""
    return shlex.split(output.rstrip().splitlines()[-1])


def test_smallest_differences_are_those_of_the_noncentral_t():
    # Smallest detectable difference at 80% power, in standard deviations of tray means, for 2, 3,
    # 4, 6, 10 trays a side: 5.65, 3.07, 2.38, 1.80, 1.32; as R's power.t.test(n, power = .8, strict
    # = TRUE)$delta gives them.
    made = plan(Variation(Spread(0.01, 6, 0.0), "typed"), FIFTH)
    shown = {row.trays: log1p(row.smallest) / 0.1 for row in made.rows}
    for trays, expected in {2: 5.65, 3: 3.07, 4: 2.38, 6: 1.80, 10: 1.32}.items():
        assert shown[trays] == pytest.approx(expected, abs=0.005)


def test_trays_needed_are_those_of_r():
    # R: power.t.test(delta = log(1.2), sd = sqrt(log(1 + .08^2) + log(1 + .22^2) / 6), power = .8,
    #   strict = TRUE)$n
    # gives 7.82, so 8 trays.
    made = plan(typed_variation(0.08, 0.22), FIFTH)
    assert made.needed == NEEDED_BY_R
    assert made.chance > 0.8


def test_more_plants_help_only_the_part_within_trays():
    # By definition: the variance of a tray's mean is between + within / plants.
    made = plan(Variation(Spread(0.02, 4, 0.04), "typed"), PowerTarget(0.2, 4))
    assert made.share_between == pytest.approx(0.5)
    assert made.needed > made.needed_with_twice > made.needed_with_endless
    assert all(row.with_twice < row.smallest for row in made.rows)
    nothing_within = plan(Variation(Spread(0.01, 4, 0.0), "typed"), PowerTarget(0.2, 4))
    assert nothing_within.needed == nothing_within.needed_with_endless
    assert nothing_within.share_between == 1


def test_blocks_cost_degrees_of_freedom_and_several_treatments_a_wider_interval():
    variation = typed_variation(0.08, 0.22)
    blocked = plan(variation, dataclasses.replace(FIFTH, blocked=True))
    three = plan(variation, dataclasses.replace(FIFTH, treatments=("a", "b", "c")))
    plain = plan(variation, FIFTH)
    assert blocked.rows[0].smallest > plain.rows[0].smallest
    assert three.rows[-1].smallest > plain.rows[-1].smallest


def grown(tmp_path, multiply=lambda row: 1.0):
    """Return the trial of the good workbook with invented weights, multiplied as told by the row of
    a plant.
    """
    generator = np.random.default_rng(3)
    sheets = good()
    for row in sheets["Plants"][1:]:
        row[2] = round(float(100 * np.exp(generator.normal(0, 0.1))) * multiply(row), 3)
    return trial(write(sheets, tmp_path / "trial.xlsx"))


def test_variation_is_learnt_from_weights_relative_to_their_treatment(tmp_path):
    learnt = variation_of(grown(tmp_path), blocked=False)
    doubled = variation_of(
        grown(tmp_path, lambda row: 2.0 if row[0].startswith("B") else 1.0), blocked=False
    )
    assert doubled.spread.variance == pytest.approx(learnt.spread.variance, rel=1e-3)
    assert doubled.spread.within == pytest.approx(learnt.spread.within, rel=1e-3)
    assert (learnt.spread.degrees, learnt.spread.degrees_within, learnt.spread.subsamples) == (
        4,
        18,
        4,
    )


def test_what_blocks_multiply_is_taken_out_where_the_next_trial_has_blocks(tmp_path):
    plain = variation_of(grown(tmp_path), blocked=True)
    uneven = grown(tmp_path, lambda row: 1.5 ** int(row[0][1]))
    after = variation_of(uneven, blocked=True)
    assert (after.blocked, after.spread.degrees) == (True, 2)
    assert after.spread.variance == pytest.approx(plain.spread.variance, rel=1e-2)
    assert variation_of(uneven, blocked=False).spread.variance > 5 * after.spread.variance


def test_trials_are_pooled_by_their_degrees_of_freedom():
    assert pooled([]) is None
    first = Variation(Spread(0.01, 4, 0.04, 4, 20), "learnt", True, 1)
    second = Variation(Spread(0.04, 4, 0.01, 2, 10), "learnt", False, 1)
    together = pooled([first, second])
    assert (together.spread.variance, together.spread.within) == pytest.approx((0.02, 0.03))
    assert (together.spread.degrees, together.spread.degrees_within) == (6, 30)
    assert (together.blocked, together.trials, together.spread.subsamples) == (False, 2, 4)


def test_a_trial_of_single_trays_teaches_nothing(tmp_path):
    sheets = good()
    for name in ("Trays", "Plants", "Solution"):
        sheets[name] = [row for row in sheets[name] if row[0] in ("Tray", "A1", "B1")]
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


def test_it_ends_in_the_command_that_lays_the_trial_out(tmp_path, monkeypatch):
    words = [
        "--treatment",
        "plain",
        "--treatment",
        "warm roots",
        "--blocks",
        "--plants",
        5,
        "--seed",
        7,
    ]
    done = run("--difference", 25, "--between", 8, "--within", 22, *words)
    needed = plan(typed_variation(0.08, 0.22), PowerTarget(0.25, 5, blocked=True)).needed
    assert command_of(done.output) == [
        *["reportgen", "new", "trial.xlsx", "--treatment", "plain", "--treatment", "warm roots"],
        *["--blocks", str(needed), "--plants", "5", "--seed", "7"],
    ]
    monkeypatch.chdir(tmp_path)
    assert CliRunner().invoke(main, command_of(done.output)[1:]).exit_code == 0
    assert (tmp_path / "trial.xlsx").is_file()
    unblocked = run("--difference", 25, "--between", 8, "--within", 22, "--seed", 7)
    assert command_of(unblocked.output)[-6] == "--trays"


def test_more_trays_than_can_be_laid_out_end_in_no_command():
    done = run("--difference", 1, "--between", 30, "--within", 30)
    assert done.exit_code == 0
    assert "more than can be laid out here" in done.output
    assert "reportgen new" not in done.output


def test_a_first_timer_gets_typical_values_with_their_source():
    done = run("--difference", 20)
    assert done.exit_code == 0
    assert "10% between trays and by 32% between plants" in done.output
    assert "Revista Ciência Agronômica 46, 2015" in done.output
    assert "common practice, no published source" in done.output
    typical = typical_variation(6)
    assert (
        plan(typical, FIFTH).needed > plan(typed_variation(0.10, 0.32), FIFTH).needed
    )  # as unsure as a small trial


def test_the_command_learns_from_earlier_workbooks_and_draws_its_figure(tmp_path):
    (tmp_path / "log").mkdir()
    for number, name in enumerate(("one", "two")):
        sheets = put(good(), Trial_B2=f"Round {name}")
        for at, row in enumerate(sheets["Plants"][1:]):
            row[2] = 20.0 + (at * (5 + number)) % 7
        write(sheets, tmp_path / "log" / f"{name}.xlsx")
    done = run(tmp_path / "log", "--difference", 15, "--figure", tmp_path / "plan.svg")
    assert done.exit_code == 0, done.output
    assert (
        "learnt from 2 earlier trials (8 degrees of freedom between trays, 36 within)"
        in done.output
    )
    assert b"<svg" in (tmp_path / "plan.svg").read_bytes()


def test_two_versions_of_one_trial_do_not_teach_twice(tmp_path):
    for name in ("one", "two"):
        write(good(), tmp_path / f"{name}.xlsx")
    done = run(tmp_path, "--difference", 15)
    assert done.exit_code == 1
    assert "two.xlsx and one.xlsx hold one trial" in done.output


def test_a_workbook_with_errors_and_words_that_do_not_go_together_are_told(tmp_path):
    spoilt = write(put(good(), Plants_C3="1O"), tmp_path / "trial.xlsx")
    done = run(spoilt, "--difference", 20)
    assert (done.exit_code, "Plants!C3" in done.output) == (1, True)
    for words in (
        ("--between", 5),
        (spoilt, "--between", 5, "--within", 6),
        ("--treatment", "one"),
    ):
        assert run(*words, "--difference", 20).exit_code == 2
    assert run("--between", 0, "--within", 0, "--difference", 20).exit_code == 2
    missing = run()
    assert (missing.exit_code, "--difference" in missing.output) == (2, True)


def test_at_a_terminal_it_asks_for_what_was_not_given_one_question_at_a_time(tmp_path, monkeypatch):
    monkeypatch.setattr(cli, "_at_terminal", lambda: True)
    earlier = write(put(good(), Plants_C3=31.0), tmp_path / "earlier.xlsx")
    typed = f"twenty\n20\nplain\nplain, warm roots\ny\n8\nnowhere.xlsx\n{earlier}\n"
    done = run("--seed", 3, input=typed)
    assert done.exit_code == 0, done.output
    for question in (
        "Which difference",
        "Which treatments",
        "Do shelves",
        "How many plants",
        "An earlier workbook",
    ):
        assert question in done.output
    assert "nowhere.xlsx is not there" in done.output
    assert "learnt from 1 earlier trial" in done.output
    words = command_of(done.output)
    assert words[:7] == [
        "reportgen",
        "new",
        "trial.xlsx",
        "--treatment",
        "plain",
        "--treatment",
        "warm roots",
    ]
    assert (words[7], words[9:]) == ("--blocks", ["--plants", "8", "--seed", "3"])
    given = [
        "--difference",
        20,
        "--treatment",
        "a",
        "--treatment",
        "b",
        "--no-blocks",
        "--plants",
        6,
    ]
    assert "?" not in run(*given, "--between", 8, "--within", 22).output
    assert "An earlier workbook" in run(*given, input="\n").output


def test_without_a_terminal_nothing_is_asked():
    assert "Which" not in run("--difference", 20).output


@pytest.mark.slow
def test_what_a_plan_promises_holds_on_average_over_what_an_earlier_trial_may_have_taught():
    # Invented crops: CV between trays and between plants. An earlier trial of 4 + 4 trays of 6
    # plants teaches how they vary; the trial that it plans is grown and analysed on the logarithms
    # of its trays' means, pooled t.
    generator = np.random.default_rng(11)
    print(
        "\nbetween  within  difference  blocks  trays (median)  promised  kept  trays known  kept"
        " with known"
    )
    for between, within in ((0.05, 0.20), (0.10, 0.25), (0.15, 0.30)):
        for difference, blocked in ((0.2, False), (0.3, False), (0.3, True)):
            target = PowerTarget(difference, blocked=blocked)
            known, _ = plan_of(typed_variation(between, within).spread, target)
            promised, kept, trays = [], [], []
            for _ in range(500):
                learnt = _learnt(generator, (between, within), blocked)
                made = plan_of(learnt, target)
                promised.append(made[1])
                trays.append(made[0])
                kept.append(
                    np.mean(
                        [_shown(generator, (between, within), made[0], target) for _ in range(5)]
                    )
                )
            truth = _deviation(between, within)
            print(
                f"{between:7} {within:7} {difference:11} {blocked!s:>7} {np.median(trays):15.0f}"
                f" {np.mean(promised):9.3f} {np.mean(kept):5.3f} {known:12}"
                f" {power_of(log1p(difference) / truth, known, 0.05, target.aim(6).layout):16.3f}"
            )
            assert np.mean(kept) == pytest.approx(np.mean(promised), abs=0.03)


def plan_of(spread, target):
    """Return the trays needed and the chance promised, as `plan` does, without the rest of it."""
    needed = units_needed(target.difference, spread, target.aim(6))
    return needed, assurance(log1p(target.difference), needed, spread, target.aim(6))


def _deviation(between, within):
    return np.sqrt(log1p(between**2) + log1p(within**2) / 6)


def _trays(generator, cvs, shape):
    """Return logarithms of the means of trays of six plants whose weights are lognormal."""
    between, within = (np.sqrt(log1p(cv**2)) for cv in cvs)
    plants = (
        generator.normal(0, within, (*shape, 6))
        + generator.normal(0, between, shape)[..., np.newaxis]
    )
    return np.log(np.exp(plants).mean(axis=-1))


def _learnt(generator, cvs, blocked):
    between, within = (np.sqrt(log1p(cv**2)) for cv in cvs)
    plants = np.exp(
        generator.normal(0, within, (2, 4, 6))
        + generator.normal(0, between, (2, 4))[..., np.newaxis]
    )
    logs = np.log(plants.mean(axis=-1))
    residuals = logs - logs.mean(axis=1, keepdims=True)
    degrees = 6
    if blocked:
        residuals = residuals - residuals.mean(axis=0)
        degrees = 3
    relative = plants / plants.mean(axis=-1, keepdims=True) - 1
    return Spread(
        float((residuals**2).sum()) / degrees, 6, float((relative**2).sum()) / 40, degrees, 40
    )


def _shown(generator, cvs, trays, target):
    """Tell whether a trial shows the difference: two treatments, trays in blocks of one each or
    not.
    """
    logs = _trays(generator, cvs, (2, trays))
    logs[1] += log1p(target.difference)
    change = logs[1].mean() - logs[0].mean()
    if target.blocked:
        error, degrees = (logs[1] - logs[0]).std(ddof=1) / np.sqrt(trays), trays - 1
    else:
        error, degrees = np.sqrt(logs.var(axis=1, ddof=1).sum() / trays), 2 * trays - 2
    return two_sided_p_value(change / error, degrees) < 0.05


LIGHT_AND_FEED = ("--factor", "light=low,high", "--factor", "feed (g/L)=0,1,2,4")


def test_the_power_of_an_effect_is_that_of_the_noncentral_f():
    # two factors with two levels, 4 trays of each combination, a difference of 1.5 standard
    # deviations; R 4.2.2:
    #   1 - pf(2.5401936^2, 1, 12, ncp = 1.5^2 * 8 / 2) = 0.676656056; 2.5401936 = qmvt(0.95,
    #     both.tails, 12, I)
    layout = Layout(4, factors=(2, 2))
    assert power_of(1.5, 4, layout=layout) == pytest.approx(0.676656056, abs=2e-5)


def test_a_plan_of_factors_says_for_which_effect_trays_are_needed():
    done = run("--difference", 20, *LIGHT_AND_FEED, "--between", 8, "--within", 22, "--seed", 4)
    assert done.exit_code == 0
    needed = [line for line in done.output.splitlines() if line.startswith("To show a difference")]
    assert "between a level of feed and its first, averaged over light" in needed[0]
    assert "between a level of light and its first, averaged over feed" in needed[1]
    assert "trays a combination" in done.output
    words = command_of(done.output)
    assert words[3:7] == list(LIGHT_AND_FEED)
    assert f"{words[words.index('--trays') + 1]} trays a combination" in needed[0]


def test_the_line_of_a_plan_of_factors_lays_them_out(tmp_path):
    words = command_of(run("--difference", 30, *LIGHT_AND_FEED, "--blocks", "--seed", 4).output)
    words[2] = str(tmp_path / "trial.xlsx")
    assert CliRunner().invoke(main, words[1:]).exit_code == 0
