"""The column of a spin: the example `spin` against Clawpack and against SciPy's LSODA on the same equations.

Profiles of red cells and of platelets at three moments, at equal grid: mean distance over mean content, by volume.
LSODA, whose column is cut in space as ours is, tells of the steps in time, and is held to 1 %, in platelets to 1.5 %. Clawpack, whose
scheme is another in space too, to 1 % in red cells and
in how many platelets lie above each height: where these gather in a layer of a few cells, their profile is the grid's
and the scheme's, and is only printed. `python3 -m pytest -s test_column.py` prints each.
"""

import json
import subprocess

import numpy
import pytest

import column
import recompute

MOST = numpy.array([0.01, 0.015, 0.01])
"""L1 difference over L1 of what is compared with: red cells, profile of platelets, platelets above each height."""


def ramp(rpm, time):
    return {"ramp": {"to": {"rpm": rpm}, "time": time}}


def hold(rpm, time):
    return {"hold": {"speed": {"rpm": rpm}, "time": time}}


STOP = {"stop": {"time": 60}}


def setup(programme, cells=200, diameter=15, end="flat", blood=13, anticoagulant=2, haematocrit=0.42):
    rotor = {"id": "r", "name": "r", "kind": "swing_out", "minimum": None, "maximum": 155, "rated_rpm": None,
             "rated_bucket": None, "speed_step": None}  # fmt: skip
    spin = {"tube": {"inner_diameter": diameter, "end": end}, "programme": programme,
            "parting": {"line": {"above_bottom": {"kept": 0.5}}, "disturbed": 0}}  # fmt: skip
    filled = {"blood": blood, "anticoagulant": anticoagulant, "haematocrit": haematocrit, "platelets": 210}
    return {"rotor": rotor, "blood": filled, "spins": [spin], "cells": cells}


# Each with the moments looked at. 1020 rpm is 180 ×g at the bottom, 2280 rpm 900, 2950 rpm 1500.
PROBLEMS = {
    "batch, one speed from the start": (setup([hold(1020, 600)]), [120, 300, 600]),
    "up, held, down": (setup([ramp(1020, 30), hold(1020, 600), STOP]), [120, 330, 690]),
    "two speeds, 300 s of ramps": (setup([ramp(600, 60), hold(600, 120), ramp(1400, 180), hold(1400, 120), STOP]), [150, 330, 540]),
    "thin blood, hard spin": (setup([ramp(2950, 45), hold(2950, 120), STOP], haematocrit=0.25), [45, 90, 225]),
    "thick blood, narrow tube": (setup([ramp(1020, 30), hold(1020, 600), STOP], diameter=12, blood=9, anticoagulant=1, haematocrit=0.55), [120, 330, 690]),
    "cone": (setup([ramp(1020, 30), hold(1020, 600), STOP], cells=400, end={"cone": {"height": 150, "tip": 4}}, blood=8, anticoagulant=1), [120, 330, 690]),
    "round bottom": (setup([ramp(1020, 30), hold(1020, 600), STOP], end="round"), [120, 330, 690]),
    "cone below a tube": (setup([ramp(1020, 30), hold(1020, 600), STOP], end={"cone": {"height": 15, "tip": 2}}), [120, 330, 690]),
    "platelets alone": (setup([ramp(2280, 45), hold(2280, 200), STOP], haematocrit=0.0, blood=7, anticoagulant=1), [100, 200, 305]),
}  # fmt: skip


@pytest.fixture(scope="session")
def spin():
    return recompute.binary("spin")


def ask(binary, problem, times):
    """Assumptions by key, and profiles at times."""
    problem["spins"][0]["profiles_at"] = times
    done = subprocess.run([binary, "--no-bands", "--as-reckoned"], input=json.dumps(problem), capture_output=True, text=True, check=True)
    found = json.loads(done.stdout)
    profiles = {p["time_s"]: p["layers"] for p in found["spins"][0]["profiles"]}
    of = lambda time, key: numpy.array([layer[key] for layer in profiles[time]])  # noqa: E731
    assumed = {a["key"]: a["value"] for a in found["assumptions"]}
    return assumed, [(of(t, "red_cell_fraction"), of(t, "platelets_over_start")) for t in times]


def apart(found, wanted, volume):
    """Mean distance over mean content; nothing of what is not there."""
    there = (volume * numpy.abs(wanted)).sum()
    return numpy.abs(found).sum() if there == 0 else (volume * numpy.abs(found - wanted)).sum() / there


def compare(found, wanted, volume):
    """Per moment: red cells, platelets, platelets above each height. A number that is none is no agreement."""
    above = lambda profile: numpy.cumsum(volume * profile)  # noqa: E731
    off = numpy.array([[apart(f[0], w[0], volume), apart(f[1], w[1], volume), apart(above(f[1]), above(w[1]), 1.0)] for f, w in zip(found, wanted, strict=True)])
    assert numpy.isfinite(off).all(), off
    return off


def solved(solver, binary, name, **change):
    """Our profiles against those of a solver whose assumptions are so many times ours."""
    problem, times = PROBLEMS[name]
    assumed, found = ask(binary, problem, times)
    theirs = column.Problem(problem, {key: value * change.get(key, 1) for key, value in assumed.items()})
    cells = problem["cells"]
    off = compare(found, solver(theirs, cells, times), theirs.grid(cells)[1])
    of = off / MOST
    return off, numpy.max(of[:, [0, 2]] if solver is column.claw else of)


def lines(problem, cells, times):
    return column.lines(problem, cells, times, rtol=1e-4, atol=1e-6)


@pytest.mark.parametrize("solver", [column.claw, lines], ids=["clawpack", "lsoda"])
@pytest.mark.parametrize("name", PROBLEMS)
def test_another_solver_agrees(spin, solver, name):
    off, held = solved(solver, spin, name)
    for time, (red, platelets, above) in zip(PROBLEMS[name][1], off):
        print(f"{name}, {time} s: red cells {100 * red:.2f} %, platelets {100 * platelets:.2f} %, above {100 * above:.2f} %")
    assert held <= 1, off


@pytest.mark.parametrize(("key", "times"), [("clumping", 1.05), ("hindrance", 1.02), ("packed_soft", 1.1), ("platelet_drag", 1.1)])
def test_a_planted_error_is_noticed(spin, key, times):
    off, held = solved(lines, spin, "batch, one speed from the start", **{key: times})
    assert held > 1, off


def test_an_error_in_space_is_noticed_by_clawpack(spin):
    """A column cut in space as ours is agrees with Clawpack, as ours does; with the slip taken from the wrong side it does not."""
    problem, times = PROBLEMS["batch, one speed from the start"]
    assumed, _ = ask(spin, problem, times)
    theirs = column.Problem(problem, assumed)
    cells, volume = problem["cells"], theirs.grid(problem["cells"])[1]
    claw = column.claw(theirs, cells, times)
    held = [
        numpy.max(compare(column.lines(theirs, cells, times, rtol=1e-4, atol=1e-6, upstream=wrong), claw, volume)[:, [0, 2]])
        for wrong in (False, True)
    ]
    print(f"slip from the right side {100 * held[0]:.2f} %, from the wrong one {100 * held[1]:.2f} %")
    assert held[0] <= MOST[0] < held[1]


def test_a_number_that_is_none_is_no_agreement():
    nan = [(numpy.array([0.4, numpy.nan]), numpy.ones(2))]
    good = [(numpy.array([0.4, 0.4]), numpy.ones(2))]
    for found, wanted in [(nan, good), (good, nan)]:
        with pytest.raises(AssertionError):
            compare(found, wanted, numpy.ones(2))


def test_nothing_is_lost(spin):
    """Theirs keeps what it began with: the ends are closed."""
    problem, times = PROBLEMS["up, held, down"]
    assumed, _ = ask(spin, problem, times)
    theirs = column.Problem(problem, assumed)
    volume = theirs.grid(100)[1]
    for red, platelets in column.claw(theirs, 100, times[:1]):
        assert abs((volume * red).sum() / volume.sum() / theirs.filled[0] - 1) < 1e-12
        assert abs((volume * platelets).sum() / volume.sum() - 1) < 1e-12
