"""What counts teach, reckoned again: the posterior in NumPy as a matrix, the spread of the next count in SciPy.

Draws data sets of its own, lets the example `learn` answer them, and reckons prior, posterior, predictive, true
content, one more count and the lines again. Shares no code with the crate. The prior by its description: a published
mean and SD matched by moments on the logarithm, worth 1 preparation for the middle and 6 degrees of freedom for the
spread, half of the variance between clinics; counting error added to the other half, between preparations alone.
"""

import csv
import io
import json
import math
import subprocess

import numpy
from scipy import integrate, stats

#: Analyser CV; counts of three per cent.
ANALYSER = 0.03
WEIGHT, FREEDOM = 1.0, 6.0
#: Counting is at most so many times a published spread between preparations.
MOST = 10.0
#: Prior SDs of slopes: of haematocrit as it is, of the logarithms of count and volume.
SLOPES = {"haematocrit": 2.0, "baseline": 0.5, "volume_kept": 0.5}


def draw(rng):
    """One clinic: rows as typed, and options."""
    n = int(rng.integers(0, 61))
    kind = rng.choice(["concentrate", "off_the_top", "with_cells"])
    options = ["--kind", kind]
    choice = rng.integers(0, 3)
    mean, sd = {"off_the_top": (1.7, 0.1), "concentrate": (0.7, 0.12)}.get(kind, (None, None))
    if choice == 1:
        mean, sd = float(rng.uniform(0.3, 6)), float(rng.uniform(0.01, 1.0))
        options += ["--mean", repr(mean), "--sd", repr(sd)]
    elif choice == 2:
        mean = sd = None
        options += ["--no-prior"]
    middle, spread = rng.uniform(-0.9, 0.6), rng.uniform(0.03, 0.3)
    rows = []
    for i in range(n):
        baseline, blood, kept = rng.uniform(90, 420), rng.uniform(15, 60), rng.uniform(2, 9)
        value = math.exp(middle + spread * rng.normal())
        share = 1 if kind == "off_the_top" else kept / blood
        dilution = float(rng.choice([1, 5, 20]))
        rows.append({
            "id": f"c{i}",
            "day": f"{2020 + i // 12}-{i % 12 + 1:02}-07",
            "baseline": repr(baseline),
            "haematocrit": repr(float(rng.uniform(0.3, 0.55))),
            "blood": repr(blood),
            "kept": repr(kept),
            "reading": repr(value * baseline / share / dilution),
            "readings": str(rng.integers(1, 6)),
            "dilution": repr(dilution),
            "sample": "laboratory_edta",
            "mixed": "yes" if rng.uniform() < 0.9 else "",
        })
    return kind, mean, sd, options, rows


def answer(binary, options, rows):
    text = io.StringIO()
    names = "id day baseline haematocrit blood kept reading readings dilution sample mixed".split()
    out = csv.DictWriter(text, names, lineterminator="\n")
    out.writeheader()
    out.writerows(rows)
    done = subprocess.run([binary, *options], input=text.getvalue(), capture_output=True, text=True, check=True)
    return json.loads(done.stdout)


class Differs(Exception):
    """A number that does not agree."""


def agree(what, found, expected, most=1e-9):
    if found is None or not math.isfinite(expected) or abs(found - expected) > most * (1 + abs(expected)):
        raise Differs(f"{what}: reported {found}, reckoned {expected}")


def variance(cv):
    return math.log(1 + cv * cv)


def posterior(design, y, centre, precision, squares, freedom):
    """Middle, covariance in units of the variance, squares and freedom of a conjugate regression."""
    after = precision + design.T @ design
    middle = numpy.linalg.solve(after, precision @ centre + design.T @ y)
    off, about = y - design @ middle, middle - centre
    return middle, numpy.linalg.inv(after), squares + off @ off + about @ precision @ about, freedom + len(y)


def published(mean, sd, counting):
    """Middle, weight, squares and freedom of what is known before counts."""
    spread = variance(sd / mean)
    within = spread / (1 + 1 / WEIGHT)
    times = 1 + counting / max(within, counting / (MOST - 1))
    # the variance of S/chi² is 2/(freedom - 4) of its square; counting adds nothing to it
    freedom = 4 + (FREEDOM - 4) * times**2
    return math.log(mean) - spread / 2, WEIGHT * times, (freedom - 2) * (within + counting), freedom


def check(binary, rng):
    """Reckons one clinic again; gives how many numbers agreed."""
    kind, mean, sd, options, rows = draw(rng)
    found = answer(binary, options, rows)
    counts = []
    for row in rows:
        if row["mixed"]:
            fold = float(row["reading"]) * float(row["dilution"]) / float(row["baseline"])
            value = fold if kind == "off_the_top" else fold * float(row["kept"]) / float(row["blood"])
            counting = variance(ANALYSER / math.sqrt(int(row["readings"]))) + variance(ANALYSER)
            counts.append((row, math.log(value), counting))
    if [c[0]["id"] for c in counts] != [a["id"] for a in found["accepted"]]:
        raise Differs("other counts enter")
    y = numpy.array([c[1] for c in counts])
    n = len(y)
    counting = numpy.mean([c[2] for c in counts]) if n else 2 * variance(ANALYSER)
    if mean is None:
        if n < 3:
            if found["next_count"] is not None:
                raise Differs("something is told from too few counts")
            return 1
        location, weight, freedom = y.mean(), n, n - 1
        squares, held = ((y - y.mean()) ** 2).sum(), counting
    else:
        start, known, before, freedom = published(mean, sd, counting)
        middle, _, squares, freedom = posterior(
            numpy.ones((n, 1)), y, numpy.array([start]), numpy.array([[known]]), before, freedom)
        location, weight, held = middle[0], known + n, counting
    number = 0

    def same(what, got, expected, most=1e-9):
        nonlocal number
        agree(what, got, expected, most)
        number += 1

    after = found["posterior"]
    for what, expected in (("location", location), ("weight", weight), ("freedom", freedom), ("squares", squares)):
        same(what, after[what], expected)
    # counting at least: counts that agree by luck are not certain
    scale = math.sqrt(max(squares / freedom * (1 + 1 / weight), held))
    next_count = stats.t(freedom, location, scale)
    same("held", found["next_count"]["counting_variance_held"], held)
    for what, p in (("low", 0.1), ("median", 0.5), ("high", 0.9)):
        same(what, found["next_count"][what], math.exp(next_count.ppf(p)))
    share = max(0.0, 1 - 2 / freedom)
    true = math.sqrt(max(scale**2 - share * held, min(1.0, math.sqrt(2 / freedom)) * scale**2))
    for what, p in (("low", 0.1), ("high", 0.9)):
        same("true " + what, found["true_content"][what], math.exp(stats.t(freedom, location, true).ppf(p)))
    # one more count: the width after it, averaged over what it may read
    def after_one(t):
        more = squares * (1 + t * t / freedom)
        return math.sqrt(more / (freedom + 1) * (1 + 1 / (weight + 1))) * stats.t.pdf(t, freedom)

    mean_scale = 2 * integrate.quad(after_one, 0, math.inf, epsabs=1e-13, epsrel=1e-11)[0]
    half = max(mean_scale, math.sqrt(held)) * stats.t.ppf(0.9, freedom + 1)
    same("one more", found["one_more_count"]["expected"]["high"], math.exp(location + half), 1e-7)
    for line in found["against"]:
        number += check_line(line, kind, mean, sd, counts, y, counting)
    return number


def check_line(line, kind, mean, sd, counts, y, counting):
    name = line["covariate"]
    if mean is None or not line["line"]:
        return 0
    key = {"volume_kept": "kept"}.get(name, name)
    x = numpy.array([float(c[0][key]) for c in counts])
    entered = (lambda v: v) if name == "haematocrit" else numpy.log
    middle_x = entered(x).mean()
    start, known, before, freedom = published(mean, sd, counting)
    precision = numpy.diag([known, before / (freedom - 2) / SLOPES[name] ** 2])
    centre = numpy.array([start, 0.0])
    design = numpy.column_stack([numpy.ones(len(y)), entered(x) - middle_x])
    middle, inverse, squares, freedom = posterior(design, y, centre, precision, before, freedom)
    slope = middle[1] + (1 if name == "baseline" else 0)
    agree(name + " slope", line["slope_of_platelets"]["middle"], slope)
    half = math.sqrt(squares / freedom * inverse[1, 1]) * stats.t.ppf(0.9, freedom)
    agree(name + " slope, high", line["slope_of_platelets"]["high"], slope + half)
    for point in (line["line"][0], line["line"][17], line["line"][-1]):
        at = numpy.array([1.0, entered(point["x"]) - middle_x])
        scale = math.sqrt(max(squares / freedom * (1 + at @ inverse @ at), counting))
        agree(name + " low", point["low"], math.exp(at @ middle + scale * stats.t.ppf(0.1, freedom)))
        agree(name + " high", point["high"], math.exp(at @ middle + scale * stats.t.ppf(0.9, freedom)))
    return 8
