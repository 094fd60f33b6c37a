"""Force over time of random programmes, ramps and all: the example `spin` against SciPy's quadrature of the speed."""

import json
import math
import subprocess

import numpy
import pytest
from scipy.constants import g as GRAVITY
from scipy.integrate import quad

import recompute

ROTOR = {"id": "r", "name": "r", "kind": "swing_out", "minimum": None, "maximum": 155, "rated_rpm": None,
         "rated_bucket": None, "speed_step": None}
BLOOD = {"blood": 13, "anticoagulant": 2, "haematocrit": 0.42, "platelets": 210}


@pytest.fixture(scope="session")
def spin():
    return recompute.binary("spin")


def draw(rng):
    """Stages of a programme, and the same as (time, speed at the start, speed at the end) in rpm."""
    stages, course, speed = [], [], 0.0
    for _ in range(rng.integers(2, 6)):
        time, to = float(rng.uniform(1, 40)), float(rng.uniform(0, 2500))
        kind = rng.choice(["ramp", "hold", "stop", "handling"])
        if kind == "ramp":
            stages.append({"ramp": {"to": {"rpm": to}, "time": time}})
            course.append((time, speed, to))
        elif kind == "hold":
            stages.append({"hold": {"speed": {"rpm": to}, "time": time}})
            course.append((time, to, to))
        elif kind == "stop":
            stages.append({"stop": {"time": time}})
            course.append((time, speed, 0.0))
        else:
            stages.append({"handling": {"what": "rest", "time": time}})
            course.append((time, 0.0, 0.0))
        speed = course[-1][2]
    return stages, course


def force_over_time(course, factor=1.0):
    """∫ω²r/g dt stretch by stretch, in ×g·s."""
    def force(t, time, start, end):
        omega = 2 * math.pi / 60 * (start + (end - start) * t / time)
        return factor * omega**2 * 0.155 / GRAVITY
    return math.fsum(quad(force, 0, time, args=(time, start, end), epsabs=0, epsrel=1e-13)[0]
                     for time, start, end in course)


def ask(binary, stages):
    tube = {"inner_diameter": 15, "end": "flat"}
    parting = {"line": {"above_bottom": {"kept": 4}}, "disturbed": 0}
    setup = {"rotor": ROTOR, "blood": BLOOD, "cells": 20,
             "spins": [{"tube": tube, "programme": stages, "parting": parting}]}
    done = subprocess.run([binary, "--no-bands"], input=json.dumps(setup), capture_output=True, text=True, check=True)
    return json.loads(done.stdout)["spins"][0]["force_over_time_at_the_maximum_radius_g_s"]


def agree(binary, count, factor=1.0):
    rng = numpy.random.default_rng(155)
    for _ in range(count):
        stages, course = draw(rng)
        wanted, found = force_over_time(course, factor), ask(binary, stages)
        assert abs(found - wanted) <= 1e-12 * max(wanted, 1.0), (stages, wanted, found)


def test_force_over_time_agrees(spin):
    agree(spin, 200)


def test_a_planted_error_is_noticed(spin):
    with pytest.raises(AssertionError):
        agree(spin, 20, factor=1 + 1e-10)
