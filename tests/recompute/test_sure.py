"""Ranges and chances against SciPy and against draws, on random cases answered by the example `assess`.

A stable number (fold or recovery) is log-normal with the mean and SD of the entry, pooled over the containers, or
Student's t on the log scale; it is cut at its ceiling. It is multiplied by the blood's count (log-normal) and, where
the product volume enters, by or over a volume that is even within half a graduation.
"""

import json
import math
import os
import subprocess

import numpy as np
import pytest
from scipy import special, stats

import recompute

LONG = bool(os.environ.get("STRAWLINE_LONG"))
CASES = 500
DRAWN = CASES if LONG else 60
DRAWS = 1_000_000
ANALYSER, PERSON, AGEING = 0.03, 0.086, 30
"""As `evidence` names them."""


@pytest.fixture(scope="module")
def binary():
    return recompute.binary()


def make(rng, index):
    """A draft, and what is meant by it."""
    kind = rng.choice(["off_the_top", "concentrate", "with_cells"])
    of_fold = kind == "off_the_top"
    name = {"off_the_top": "fold", "concentrate": "recovery", "with_cells": "recovery_with_cells"}[kind]
    mean = round(rng.uniform(1.1, 2.2) if of_fold else rng.uniform(0.3, 0.95), 3)
    sd = round(mean * rng.uniform(0.02, 0.35), 4)
    learned = None
    if rng.random() < 0.4:
        learned = {
            "location": float(np.log(mean)),
            "scale": round(rng.uniform(0.05, 0.3), 4),
            "freedom": round(rng.uniform(2.5, 60), 2),
            "counting_variance": round(rng.uniform(0, 0.003), 5),
        }
    basis = {"clinic_counts": {"n": 12, "learned": learned}} if learned else "clinic_entry"
    if rng.random() < 0.2 and not learned:
        basis = {"clinic_counts": {"n": 12}}
    inner = {"mean": mean, "sd": sd, **({"haematocrit": 0.08} if kind == "with_cells" else {})}
    containers = int(rng.integers(1, 7))
    fill = round(float(rng.uniform(9, 15)), 1)
    most = 1.5 if of_fold else 6.0
    product = round(float(fill * containers / rng.uniform(most, 12)), 1)
    graduation = float(rng.choice([0.05, 0.1, 0.2, 0.5, 1.0]))
    standing = rng.choice(["today", "older", "no_count"])
    age = int(rng.integers(1, 400))
    count = int(rng.integers(120, 420))
    readings = int(rng.integers(0, 4))
    ordered = rng.choice(["fold", "concentration"])
    sense = rng.choice(["at_least", "between", "about"])
    centre = (1.6 if of_fold else 0.6 * fill * containers / product / 1.15) * (count if ordered == "concentration" else 1)
    named = float(f"{centre * rng.uniform(0.6, 1.3):.3g}")
    most_named = float(f"{named * rng.uniform(1.1, 2):.3g}")
    fmt = lambda x: f"{x:.10g}"
    texts = {
        "containers": str(containers), "fill_volume": fmt(fill), "product_volume": fmt(product),
        f"order_{ordered}": fmt(named), "count_sample": "0.2", "dilution": "1",
        **({f"order_{ordered}_most": fmt(most_named)} if sense == "between" else {}),
        **({"blood_count": str(count)} if standing != "no_count" else {}),
        **({"count_age": str(age)} if standing == "older" else {}),
        **{f"reading_{i + 1}": "900" for i in range(readings)},
    }  # fmt: skip
    container = {
        "id": "t", "name": "T", "capacity": 16, "graduation": 0.1, "fill_low": 5, "fill_high": 15,
        "anticoagulant_graduation": graduation, "prefill": None, "product_low": None, "product_high": None,
        "rated": None, "transfer_loss": 0.1, "needle_loss": 0.1, "inner_diameter": 15, "bottom": "round",
    }  # fmt: skip
    protocol = {
        "id": "p", "name": "P", "kind": kind, "white_cells": "unknown",
        "expectation": {"expected": {name: inner}, "basis": basis}, "agent": "acd_a",
        "dosing": {"per_blood": 0.15}, "programme": [], "product": None, "count_sample": 0.2, "left_behind": 0.5,
        "packing": 0.7,
    }  # fmt: skip
    draft = {
        "schema": 1, "id": str(index), "sign": "7K", "begun": 0, "texts": texts,
        "rows": {"parts": 1, "readings": readings, "additions": 0, "containers": 0},
        "choices": {"convention": "fill_mark", "agent": "acd_a", "count": standing, "sample": "laboratory_edta",
                    "order_sense": {ordered: sense}},
        "kit": {"container": container, "protocol": protocol},
    }  # fmt: skip
    bounds = {"at_least": (named, math.inf), "between": (named, most_named), "about": (0.9 * named, 1.1 * named)}
    meant = {
        "of_fold": of_fold, "mean": mean, "sd": sd, "learned": learned, "pooled": basis == "clinic_entry",
        "containers": containers, "product": product, "graduation": graduation, "ordered": ordered,
        "bounds": bounds[sense], "readings": max(readings, 1), "standing": standing,
        "count": count if standing != "no_count" else 236.0,
        "cv": {"today": ANALYSER, "no_count": 59 / 236,
               "older": math.sqrt(ANALYSER**2 + PERSON**2 * (1 - math.exp(-age / AGEING)))}[standing],
    }  # fmt: skip
    return json.dumps(draft), meant


NODES, WEIGHTS = np.polynomial.legendre.leggauss(300)
READ_NODES, READ_WEIGHTS = np.polynomial.legendre.leggauss(40)


def log_normal(mean, cv):
    """Location and scale of the logarithm, by moments."""
    scale = math.sqrt(math.log(1 + cv * cv))
    assert abs(stats.lognorm(scale, scale=mean / math.sqrt(1 + cv * cv)).mean() / mean - 1) < 1e-9
    assert abs(stats.lognorm(scale, scale=mean / math.sqrt(1 + cv * cv)).std() / (mean * cv) - 1) < 1e-9
    return math.log(mean) - scale * scale / 2, scale


class Model:
    def __init__(self, m, blood):
        self.m, self.ratio = m, blood / m["product"]
        if m["learned"]:
            known = m["learned"]
            least = (known["scale"] / 10) ** 2
            scale = math.sqrt(max(known["scale"] ** 2 - known["counting_variance"], least))
            self.stable = stats.t(known["freedom"], known["location"], scale)
        else:
            n = m["containers"]
            factor = math.sqrt(0.8 + 0.2 / n) if m["pooled"] else 1
            self.stable = stats.norm(*log_normal(m["mean"], m["sd"] / m["mean"] * factor))
        self.top = math.log(self.ratio if m["of_fold"] else 1)
        self.kept = self.stable.cdf(self.top)
        self.to_fold = 1 if m["of_fold"] else self.ratio
        self.half = min(m["graduation"] / 2 / m["product"], 0.999)

    def logs(self, p):
        return self.stable.ppf(p * self.kept)

    def fold(self, p):
        return self.to_fold * math.exp(self.logs(p))

    def concentration(self, sample=False):
        """Chance of a concentration (or a count of it) up to y."""
        mu, scale = log_normal(self.m["count"], self.m["cv"])
        if sample:
            scale = math.hypot(scale, math.sqrt(math.log(1 + ANALYSER**2) / self.m["readings"]))
        # By the substitution p = ½(1 − cos πx) the ends are dense, where the tails are.
        angle = 0.5 * math.pi * (NODES + 1)
        p, weight = 0.5 * (1 - np.cos(angle)), WEIGHTS * 0.25 * math.pi * np.sin(angle)
        logs = self.logs(p)
        read = np.zeros(1) if self.m["of_fold"] else np.log1p(self.half * READ_NODES)
        wu = np.ones(1) if self.m["of_fold"] else READ_WEIGHTS / 2
        middle = logs[:, None] - read[None, :] + mu + math.log(self.to_fold)
        weights = weight[:, None] * wu[None, :]
        return lambda y: float(np.sum(weights * special.ndtr((math.log(y) - middle) / scale)))

    def draw(self, rng):
        """True concentrations."""
        mu, scale = log_normal(self.m["count"], self.m["cv"])
        logs = self.logs(rng.random(DRAWS))
        read = 0 if self.m["of_fold"] else np.log1p(self.half * rng.uniform(-1, 1, DRAWS))
        return logs, np.exp(logs + rng.normal(mu, scale, DRAWS) - read) * self.to_fold


def range_of(found):
    return [found["low"], found.get("median", found.get("value")), found["high"]]


def test_ranges_and_chances(binary, capsys):
    rng = np.random.default_rng(20)
    made = [make(rng, i) for i in range(CASES)]
    lines = "".join(draft + "\n" for draft, _ in made)
    done = subprocess.run([binary, "--lines", "--at", "0"], input=lines, stdout=subprocess.PIPE, text=True, check=True)
    worst, compared, worst_drawn, cut = 0.0, 0, 0.0, 0

    def near(found, wanted, of):
        nonlocal worst, compared
        off = abs(found - wanted) / max(abs(wanted), 1e-2 if of == "chance" else 1e-300)
        worst, compared = max(worst, off), compared + 1
        assert off <= 1e-3, (of, found, wanted)

    def is_quantile(found, cdf, p, of):
        """By one step of Newton from what was found, the slope taken between a thousandth below and above."""
        slope = (cdf(found * 1.001) - cdf(found * 0.999)) / (0.002 * found)
        near(found, found - (cdf(found) - p) / slope, of)

    for number, ((_, m), line) in enumerate(zip(made, done.stdout.splitlines(), strict=True)):
        report = json.loads(line)
        assert "error" not in report, report
        results = {r["what"]: r for r in report["results"]}
        model = Model(m, results["blood_in_all"]["value"])
        if model.kept < 1e-3:
            cut += 1
            assert "fold_predicted" not in results
            continue
        quantiles = (0.1, 0.5, 0.9)
        for p, found in zip(quantiles, range_of(results["fold_predicted"])):
            near(found, model.fold(p), "fold")
        cdf = model.concentration()
        counted = m["standing"] != "no_count"
        sure = report["sure"]
        shown = results["concentration_predicted"] if counted else sure["concentration_of_any_adult"]
        for p, found in zip(quantiles, range_of(shown)):
            is_quantile(found, cdf, p, "concentration")
        if counted:
            reads = model.concentration(sample=True)
            for p, found in zip(quantiles, range_of(sure["concentration_a_count_will_read"])):
                is_quantile(found, reads, p, "will read")
        low, high = m["bounds"]
        if m["ordered"] == "fold":
            below = lambda y: min(model.stable.cdf(math.log(y / model.to_fold)) / model.kept, 1)
        else:
            below = cdf
        wanted = (1 if math.isinf(high) else below(high)) - below(low)
        chance = report["order"][0]["chance"]["value"]
        near(chance, wanted, "chance")
        if number < DRAWN:
            logs, drawn = model.draw(np.random.default_rng(number))
            of = np.exp(logs) * model.to_fold if m["ordered"] == "fold" else drawn
            share = np.mean((of >= low) & (of <= high))
            pairs = [(chance, share)]
            pairs += [(p, np.mean(drawn <= found)) for p, found in zip(quantiles, range_of(shown))]
            for p, share in pairs:
                # five standard errors: 1 in 10⁶ by chance
                off = abs(share - p) / math.sqrt(max(p * (1 - p), 1e-6) / DRAWS)
                worst_drawn = max(worst_drawn, off)
                assert off < 5, (number, p, share)
    assert cut < CASES / 10
    with capsys.disabled():
        print(
            f"{compared} quantiles and chances of {CASES - cut} cases within {worst:.1e} of SciPy; "
            f"{DRAWN} cases within {worst_drawn:.1f} standard errors of {DRAWS} draws",
            end=" ",
        )
