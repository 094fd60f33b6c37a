"""What counts teach: 200 data sets, 2000 with STRAWLINE_LONG; and one wrong number each must end the run."""

import os

import numpy
import pytest

import learning
import recompute

SETS = 2000 if os.environ.get("STRAWLINE_LONG") else 200


@pytest.fixture(scope="session")
def learn():
    return recompute.binary("learn")


def test_prior_posterior_and_the_next_count_agree(learn, capsys):
    rng = numpy.random.default_rng(417)
    numbers = sum(learning.check(learn, rng) for _ in range(SETS))
    with capsys.disabled():
        print(f"{SETS} data sets, {numbers} numbers of learning agree", end=" ")
    assert numbers > 15 * SETS


@pytest.mark.parametrize("name", ["ANALYSER", "WEIGHT", "FREEDOM", "MOST"])
def test_another_constant_is_noticed(learn, monkeypatch, name):
    monkeypatch.setattr(learning, name, getattr(learning, name) * (1 + 1e-6))
    with pytest.raises(learning.Differs):
        rng = numpy.random.default_rng(1)
        for _ in range(20):
            learning.check(learn, rng)


@pytest.mark.parametrize("name", list(learning.SLOPES))
def test_another_slope_prior_is_noticed(learn, monkeypatch, name):
    monkeypatch.setitem(learning.SLOPES, name, learning.SLOPES[name] * (1 + 1e-5))
    with pytest.raises(learning.Differs):
        rng = numpy.random.default_rng(1)
        for _ in range(20):
            learning.check(learn, rng)
