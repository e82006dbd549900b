import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldnotes.clinical.outcomes import Followed, median_days, still_open, wilson_rate


def test_the_curve_is_that_of_the_classic_remission_data():
    # Freireich et al., Blood 21:699, 1963, 6-MP arm: S(6)=0.857, S(13)=0.690, S(23)=0.448,
    # median 23 (as tabulated in Kleinbaum and Klein, Survival Analysis).
    events = (6, 6, 6, 7, 10, 13, 16, 22, 23)
    censored = (6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35)
    wounds = [Followed(d, True) for d in events] + [Followed(d, False) for d in censored]
    curve = {step.day: step.open_share for step in still_open(wounds)}
    expected = {6: 0.857, 7: 0.807, 10: 0.753, 13: 0.690, 16: 0.627, 22: 0.538, 23: 0.448}
    assert curve == pytest.approx(expected, abs=0.0005)
    assert median_days(still_open(wounds)) == 23


def test_a_median_that_never_came_is_not_made_up():
    assert (
        median_days(still_open([Followed(30, False), Followed(9, True), Followed(40, False)]))
        is None
    )
    assert still_open([]) == ()


def test_the_score_interval_is_the_published_one():
    # Newcombe, Stat Med 17:857, 1998, table I, method 3: 81/263 gives 0.2553-0.3662.
    rate = wilson_rate(81, 263)
    assert (rate.low, rate.high) == pytest.approx((0.2553, 0.3662), abs=5e-5)
    assert wilson_rate(0, 20).high == pytest.approx(0.1611, abs=5e-5)
    assert not wilson_rate(10, 10, few_below=10).few
    assert wilson_rate(1, 3, few_below=10).few
    assert wilson_rate(0, 0) is None


@given(st.integers(0, 300), st.integers(1, 300))
def test_a_rate_lies_inside_its_interval(count, total):
    count = min(count, total)
    rate = wilson_rate(count, total)
    assert 0 <= rate.low <= rate.share + 1e-12
    assert rate.share - 1e-12 <= rate.high <= 1


@pytest.mark.long
def test_kaplan_and_meier_agree_with_an_independent_library():
    lifelines = pytest.importorskip("lifelines", reason="heavy: installed by .ci/long")
    draw = random.Random(5)  # noqa: S311  (a test's draw)
    for _ in range(200):
        wounds = [
            Followed(float(draw.randint(1, 60)), draw.random() < 0.6)
            for _ in range(draw.randint(1, 80))
        ]
        fitted = lifelines.KaplanMeierFitter().fit(
            [w.days for w in wounds], [w.closed for w in wounds]
        )
        steps = still_open(wounds)
        for step in steps:
            assert fitted.predict(step.day) == pytest.approx(step.open_share)
        if any(abs(step.open_share - 0.5) < 1e-9 for step in steps):
            continue  # there the library's product of floats falls a hair above one half
        ours = median_days(steps)
        assert fitted.median_survival_time_ == (float("inf") if ours is None else ours)
