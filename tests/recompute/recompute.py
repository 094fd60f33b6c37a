#!/usr/bin/env python3
"""Draws cases, lets the example `assess` answer them, and reckons every result again from its own formulas.

    recompute.py [--count N] [--long] [--seed S] [--plant NAME] [--binary PATH]
    recompute.py --names            every formula an error can be planted in
    recompute.py --show INDEX       one drawn case as JSON

Ends with 1 at the first results that disagree by more than 1 part in 10⁹ (with `--plant`: by design), and when
something worth drawing was drawn too seldom.
"""

import argparse
import json
import os
import subprocess
import sys
from collections import Counter
from pathlib import Path

import cases
import formulas as f
from formulas import CELLS, COUNT, ML, MMOL, NONE, u

ROOT = Path(__file__).parents[2]
RELATIVE = 1e-9
UNITS = {
    "": NONE,
    "L/L": NONE,
    "mL/mL": NONE,
    "×g": NONE,
    "mL": ML,
    "mL/kg": ML / u.kilogram,
    "mmol/L": MMOL / u.liter,
    "mmol": MMOL,
    "rpm": u.rpm,
    "×10⁹/L": COUNT,
    "×10⁹": CELLS,
}
"""Units as the report prints them."""

NO_COUNT = [150, 200, 250, 300, 350]
"""Counts of the table for a patient without one."""

MOST = 100_000 * COUNT
"""No count is higher."""

seen = Counter()
"""What the drawn cases had in them."""


class Answer:
    """Reckons one case."""

    def __init__(self, meant):
        self.m = meant
        self.results = {}
        self.findings = {}
        self.draw()
        self.patient()
        self.spin()
        self.product()

    def put(self, name, value):
        if value is not None:
            self.results[name] = value

    # Draw

    def choose_agent(self):
        m = self.m
        prefill = m.container.prefill
        self.agent = prefill[0] if prefill else m.agent or m.protocol.agent
        seen[self.agent] += 1
        if prefill:
            return prefill[1]
        if m.per_100 is not None:
            return m.per_100 * NONE
        if m.per_container is not None:
            return m.per_container
        if m.agent in (None, m.protocol.agent) and m.protocol.dosing is not None:
            return m.protocol.dosing
        labels = {"acd_a": f.Fraction("0.15"), "cpd": f.Fraction("0.14")}
        return labels[self.agent] * NONE if self.agent in labels else None

    def split(self, dosing, convention, volume):
        """Anticoagulant, blood and fill of one container; none where it does not fit."""
        per_container = dosing.check("[volume]")
        if convention == "fill_mark":
            a = dosing if per_container else f.anticoagulant_in_a_fill(volume, dosing)
            if a > volume:
                return None
            return a, f.blood_beside(volume, a), volume
        a = dosing if per_container else f.anticoagulant_for_blood(volume, dosing)
        return a, volume, f.fill_of(a, volume)

    def band(self):
        m = self.m
        if m.protocol.band and self.agent == m.protocol.agent:
            return m.protocol.band
        return (f.Fraction("0.1"), f.Fraction("0.2")) if self.agent == "acd_a" else None

    def rounded(self, exact, convention, volume):
        """Up to the measure's graduation; down where only that stays in the band."""
        step, band = self.m.container.graduation, self.band()
        up = self.split(f.whole_steps(exact, step, True), convention, volume)
        if (exact / step).to(NONE).magnitude.denominator == 1:
            seen["exact"] += 1
            return up
        inside = lambda s: s is not None and s[1] > 0 * ML and (band is None or band[0] <= s[0] / s[1] <= band[1])
        if not inside(up) and band:
            down = self.split(f.whole_steps(exact, step, False), convention, volume)
            if inside(down):
                seen["down"] += 1
                self.findings["rounded_down"] = True
                return down
        seen["up"] += 1
        return up

    def plan(self):
        m = self.m
        dosing = self.choose_agent()
        prefilled = m.container.prefill is not None
        volume = m.volume if m.volume is not None else m.container.fill_high if prefilled else None
        convention = "fill_mark" if prefilled else m.convention
        seen[convention] += 1
        if dosing is None or volume is None:
            return None
        exact = self.split(dosing, convention, volume)
        if exact is None:
            return None
        if m.chosen is not None or prefilled:
            # an amount typed for another container is not in a filled tube
            amount = exact[0] if prefilled else m.chosen
            split = self.split(amount, convention, volume)
        else:
            split = self.rounded(exact[0], convention, volume)
        if split is None or split[1] <= 0 * ML:
            return None
        self.put("anticoagulant_before_rounding", exact[0])
        return split

    def draw(self):
        self.findings["rounded_down"] = False
        plan = self.plan()
        if plan:
            names = ["anticoagulant_each", "blood_each", "fill_mark"]
            for name, volume in zip(names, plan):
                self.put(name, volume)
            self.put("anticoagulant_per_blood", f.anticoagulant_per_blood(plan[0], plan[1]))
        self.drawn, taking_part, self.complete = 0 * ML, [], True
        for i, c in enumerate(self.m.in_hand, start=1):
            a = 0 * ML if c.forgotten else c.anticoagulant
            a = a if a is not None else plan and plan[0]
            fill = c.fill
            if fill is None and self.m.needle_out:
                # the plan is no mark
                seen["mark not entered"] += 1
            elif fill is None:
                if not plan:
                    continue
                fill = plan[2]
            below = a is not None and fill is not None and fill < a
            seen["mark below anticoagulant"] += below
            if a is None or fill is None or below:
                # in no sum; a limit on the draw counts it as planned
                self.complete = self.complete and c.set_aside
                self.drawn += plan[1] if plan else 0 * ML
                continue
            b = f.blood_beside(fill, a)
            self.put(f"container_{i}_blood", b)
            if b > 0 * ML:
                self.put(f"container_{i}_anticoagulant_per_blood", f.anticoagulant_per_blood(a, b))
            self.drawn += b
            if plan and c.fill is not None and c.fill < plan[2]:
                seen["short draw"] += 1
            if c.set_aside:
                seen["set aside"] += 1
            else:
                taking_part.append((a, b))
        self.totals = self.ratio = self.citrate = None
        if taking_part:
            self.in_all(taking_part)

    def in_all(self, taking_part):
        h = self.m.haematocrit
        a = f.sum_of_volumes(*(a for a, _ in taking_part))
        b = f.sum_of_volumes(*(b for _, b in taking_part))
        self.totals = (a, b, f.fill_of(a, b))
        self.containers = len(taking_part)
        if not self.complete:
            return
        self.ratio = f.anticoagulant_per_blood(a, b) if b > 0 * ML else None
        self.put("anticoagulant_in_all", a)
        self.put("blood_in_all", b)
        self.put("anticoagulant_per_blood_in_all", self.ratio)
        if h is not None and self.totals[2] > 0 * ML:
            self.put("mixture_haematocrit", f.mixture_haematocrit(a, b, h))
            p = f.plasma(a, b, h)
            self.put("plasma", p)
            if self.agent in f.LITRE:
                self.citrate = f.plasma_citrate(self.agent, a, p)
                self.put("plasma_citrate", self.citrate)

    # Patient

    def patient(self):
        m = self.m
        if self.drawn <= 0 * ML:
            return
        today = f.sum_of_volumes(self.drawn, m.discard)
        self.put("drawn_today", today)
        self.put("drawn_in_eight_weeks", f.sum_of_volumes(today, m.previous))
        if m.weight is None:
            return
        self.put("drawn_per_kg", f.drawn_per_weight(today, m.weight))
        if m.height is None:
            return
        estimates = [f.lemmens(m.height, m.weight).to(ML)]
        if m.sex and m.weight > 35 * u.kilogram:
            estimates.append(f.nadler(m.sex, m.height, m.weight).to(ML))
            seen["nadler" if estimates[1] < estimates[0] else "lemmens"] += 1
        volume = min(estimates)
        self.put("estimated_blood_volume", volume)
        self.put("drawn_share", f.drawn_share(today, volume))

    # Spin

    def radii(self):
        r = self.m.rotor
        found = {"minimum": r.minimum, "maximum": r.maximum}
        both = r.minimum is not None and r.maximum is not None
        found["mean"] = f.mean_radius(r.minimum, r.maximum) if both else None
        return found

    def passes(self, speed, radii):
        """How many ratings a speed passes; one that is just reached is kept, whatever the last bit says."""
        r = self.m.rotor
        over = [r.rated_rpm is not None and speed > r.rated_rpm]
        if radii["maximum"] is not None:
            g = f.force(speed, radii["maximum"]).to(NONE)
            limits = [limit for limit in (r.rated_bucket, self.m.container.rated) if limit is not None]
            over += [g > limit * (1 + RELATIVE) for limit in limits]
        return sum(over)

    def set_speed(self, asked, radii):
        at, amount = asked
        if at == "rpm":
            speed = amount
        elif radii[at] is None:
            return None
        else:
            speed = f.speed_for(amount, radii[at])
        step = self.m.rotor.speed_step
        if step is None:
            return speed
        nearest = f.nearest_speed(speed, step)
        if self.passes(nearest, radii) > self.passes(speed, radii):
            seen["speed rounded down"] += 1
            return f.speed_below(speed, step)
        return nearest

    def spin(self):
        if self.m.rotor is None:
            return
        radii = self.radii()
        for i, asked in enumerate(self.m.protocol.stages):
            speed = asked and self.set_speed(asked, radii)
            if speed is not None:
                self.put(f"stage_{i + 1}_speed", speed)
                for kind, radius in radii.items():
                    if radius is not None:
                        self.put(f"stage_{i + 1}_rcf_{kind}_radius", f.force(speed, radius))
            run = self.m.run.get(i)
            if run is not None:
                self.put(f"stage_{i + 1}_run_speed", run)
                if radii["maximum"] is not None:
                    self.put(f"stage_{i + 1}_run_rcf_maximum_radius", f.force(run, radii["maximum"]))

    # Product

    def native(self):
        m = self.m
        if m.reading is None or m.standing == "no_count":
            return None
        kind = m.sample or ("older_result" if m.standing == "older" else "laboratory_edta")
        factor = 1
        if kind == "filled_container":
            if not self.totals or self.ratio is None:
                return None
            factor = 1 + self.ratio
        elif kind == "liquid_citrate":
            factor = m.citrate_factor or f.Fraction("1.1")
        seen[kind] += 1
        count = f.native_count(m.reading, factor)
        cv = f.count_cv(m.age if m.standing == "older" else 0 * u.day)
        self.put("blood_count", count)
        self.put("blood_count_cv", cv)
        return count, cv

    def product(self):
        m = self.m
        native = self.native()
        self.findings["platelets_low"] = native is not None and native[0] < 100 * COUNT
        volume = m.product_actual if m.product_actual is not None else m.product_planned
        if volume <= 0 * ML:
            return
        self.put("product_volume", volume)
        rest = f.after_sample(volume, m.count_sample)
        if not self.totals or not self.complete:
            # nothing is held against all the blood; a count stands without it
            seen["no mark at all"] += not self.totals
            self.expected = None
            self.measure(volume, None)
            self.share(rest, self.mix(rest))
            self.results.pop("dose_counted", None)
            return
        a, b, fill = self.totals
        bound = fill
        if m.protocol.kind == "off_the_top" and m.haematocrit is not None:
            bound = f.most_plasma(fill, b, m.haematocrit, m.protocol.packing, m.protocol.left_behind)
            self.put("product_bound", bound)
        if abs(volume - bound) > 1e-9 * ML:
            kept_above = m.product_actual is not None and volume > fill
            self.findings["kept_above_fill"] = kept_above
            self.findings["product_above_bound"] = volume > bound and not kept_above
        self.expected = self.predict(volume, native)
        self.measure(volume, native)
        added = self.mix(rest)
        self.ledger(volume, fill, added)
        self.share(rest, added)

    def predict(self, volume, native):
        """Fold, recovery, concentration and platelets, as far as they can be told; gives the concentration."""
        _, blood, _ = self.totals
        top = f.ceiling(blood, volume)
        self.put("ceiling", top)
        if native:
            self.put("platelets_drawn", f.platelets_in(native[0], blood))
        found = self.ranges(native, volume, put=True)
        concentration = found and found[0]
        if concentration and max(concentration) > MOST:
            # no count at all: nothing is predicted of volumes that would lead to it
            seen["absurd"] += 1
            for name in [n for n in self.results if n.endswith("_predicted") or n in ("ceiling", "platelets_drawn")]:
                del self.results[name]
            return None
        if not native and self.m.protocol.expected is not None:
            seen["no count"] += 1
            today = f.count_cv(0 * u.day)
            rows = [self.ranges((count * COUNT, today), volume, put=False) for count in NO_COUNT]
            for count, found in zip(NO_COUNT, rows):
                if found and max(rows[-1][0]) <= MOST:
                    self.put(f"platelets_in_product_if_count_{count}", found[1])
        return concentration

    def ranges(self, native, volume, put):
        p, (_, blood, _) = self.m.protocol, self.totals
        if p.expected is None or p.expected_kind != p.kind or blood <= 0 * ML:
            return None
        top = float((blood / volume).to(NONE).magnitude)
        by_fold = p.kind == "off_the_top"
        mean, sd = p.expected
        if not p.learned:
            # an entry speaks of one container, a clinic's counts of products as it pools them
            sd = f.pooled_spread(sd, self.containers)
            seen["pooled"] += self.containers > 1
        stable = f.Spread(mean, sd, top if by_fold else 1.0)
        if stable.kept < 0.001:
            seen["cut away"] += 1
            return None
        to_fold = 1.0 if by_fold else top
        seen[p.kind] += 1
        if put:
            quantiles = [f.quantile(stable, q) * to_fold * NONE for q in (0.5, 0.1, 0.9)]
            self.put("fold_predicted", quantiles)
            self.put("recovery_predicted", [q / top for q in quantiles])
        if not native:
            return None
        count = float(native[0].to(COUNT).magnitude)
        free = f.Spread(count, float(native[1].magnitude) * count)
        error = f.read_error(volume, self.m.container.graduation)
        # The volume kept dilutes what a recovery gives, and is filled with what a fold gives.
        of = lambda read: [f.quantile_of_product(stable, free, q, read) * to_fold * COUNT for q in (0.5, 0.1, 0.9)]
        concentration = of(None if by_fold else (error, False))
        platelets = [f.platelets_in(c, volume) for c in of((error, True) if by_fold else None)]
        if put:
            self.put("concentration_predicted", concentration)
            self.put("platelets_in_product_predicted", platelets)
        return concentration, platelets

    def measure(self, volume, native):
        above = self.readings(volume, native)
        if self.counted is not None and (above or self.m.mixed is not True or self.unlikely()):
            # a reading that may not be relied on stands alone
            seen["not confirmed"] += 1
            for name in ("platelets_in_product", "fold", "recovery"):
                self.results.pop(f"{name}_counted", None)
            self.results["concentration_not_confirmed"] = self.results.pop("concentration_counted")
            self.counted = None

    def unlikely(self):
        """Whether a concentrate holds hardly more than blood, or less than half the low end of what is expected."""
        if self.m.protocol.kind != "concentrate" or "fold_counted" not in self.results:
            return False
        fold = float(self.results["fold_counted"].to(NONE).magnitude)
        low = float(self.results["fold_predicted"][1].to(NONE).magnitude) if "fold_predicted" in self.results else 0.0
        seen["unlikely"] += fold < max(1.2, low / 2)
        return fold < max(1.2, low / 2)

    def readings(self, volume, native):
        """What the readings come to; gives whether it is more than was drawn and than counting error explains."""
        m = self.m
        self.counted = None
        if not m.readings or m.dilution is None:
            # a reading whose dilution nobody says is no count
            seen["dilution unsaid"] += bool(m.readings)
            return False
        self.counted = f.undiluted(f.mean_reading(m.readings), m.dilution)
        self.put("concentration_counted", self.counted)
        if len(m.readings) > 1:
            seen["replicates"] += 1
            self.put("replicate_cv", f.replicate_cv(m.readings))
        if m.product_actual is not None:
            self.put("platelets_in_product_counted", f.platelets_in(self.counted, volume))
        self.findings["blood_unknown"] = not self.totals or not self.complete
        blood = self.totals[1] if self.totals else 0 * ML
        if native and blood > 0 * ML:
            self.put("fold_counted", f.fold_of(self.counted, native[0]))
            if m.product_actual is None:
                seen["not collected"] += 1
                return False
            drawn = f.platelets_in(native[0], blood)
            recovery = f.recovery_of(f.platelets_in(self.counted, volume), drawn).to(NONE)
            # more than a hundred times what was drawn is no recovery and is not shown as one
            self.put("recovery_counted", recovery if recovery <= 100 * NONE else None)
            error = f.math.hypot(f.ANALYSER / f.math.sqrt(len(m.readings)), float(native[1].magnitude))
            return float(recovery.magnitude) > f.math.exp(1.96 * error)
        return False

    def mix(self, rest):
        whole = [a for a in self.m.additions if a[2] is not None]
        if not whole:
            return 0 * ML
        seen["addition"] += 1
        added = f.sum_of_volumes(*(volume for _, _, volume in whole))
        if len(whole) < len(self.m.additions):
            # what is not known in full leaves everything after it open
            seen["addition in part"] += 1
            return added
        self.put("volume_after_additions", f.sum_of_volumes(rest, added))
        if self.counted is not None and self.m.product_actual is not None:
            self.put("concentration_after_additions", f.diluted(self.counted, rest, added))
        salts = [a for a in whole if a[0] in f.CALCIUM]
        if salts and self.citrate is not None:
            calcium = sum((f.calcium_in(what, volume, percent) for what, percent, volume in salts), 0 * MMOL)
            citrate = f.citrate_in(self.citrate, rest)
            self.put("calcium_added", calcium)
            self.put("citrate_present", citrate)
            if citrate.to(MMOL).magnitude > 0:
                seen["calcium"] += 1
                self.put("calcium_per_citrate", f.calcium_per_citrate(calcium, citrate))
        return added

    def parts(self):
        """Number, volume of each part that has one: given, else ordered; else the whole order."""
        rows = enumerate(self.m.parts, start=1)
        known = [(i, given if given is not None else ordered) for i, (ordered, given) in rows]
        known = [(i, volume) for i, volume in known if volume is not None]
        if known or self.m.order_volume is None:
            return known
        return [(1, self.m.order_volume)]

    def ledger(self, volume, fill, added):
        m = self.m
        lost = f.losses(m.changes, m.container.needle_loss, m.transfers, m.container.transfer_loss)
        given = f.sum_of_volumes(*(v for _, v in self.parts()))
        self.put("fill_in_all", fill)
        self.put("left_behind", f.left_behind(fill, volume))
        self.put("losses", lost)
        self.put("given_in_all", given)
        self.put("left_over", f.left_over(volume, m.count_sample, added, lost, given))
        rest = (volume - m.count_sample + added - lost - given).magnitude
        if volume <= fill and abs(rest) > 1e-8:
            self.findings["ledger_short"] = rest < 0

    def share(self, rest, added):
        counted = self.counted if self.m.product_actual is not None else None
        expected = self.expected
        if any(volume is None for _, _, volume in self.m.additions):
            counted = expected = None
        if added > 0 * ML:
            counted = counted if counted is None else f.diluted(counted, rest, added)
            expected = expected and [f.diluted(c, rest, added) for c in expected]
        doses = self.parts()
        seen["share-out"] += len(doses) > 1
        for i, volume in doses:
            self.put(f"part_{i}_volume", volume)
            self.dose(f"part_{i}_dose", counted, expected, volume)
        given = f.sum_of_volumes(*(v for _, v in doses))
        if given > 0 * ML:
            self.dose("dose", counted, expected, given)

    def dose(self, name, counted, expected, volume):
        if counted is not None:
            self.put(f"{name}_counted", f.platelets_in(counted, volume))
        if expected:
            self.put(f"{name}_predicted", [f.platelets_in(c, volume) for c in expected])


def same(reported, recomputed):
    return abs(reported - recomputed) <= RELATIVE * max(abs(reported), abs(recomputed)) + 1e-12


def differences(answer, report):
    """Sentences, one for each result that differs; and how many numbers were compared."""
    found, compared = [], 0
    reported = {r["what"]: r for r in report["results"]}
    for name in reported.keys() - answer.results.keys():
        found.append(f"{name} is reported and not recomputed: add its formula")
    for name, wanted in answer.results.items():
        got = reported.get(name)
        if got is None:
            found.append(f"{name} is recomputed and not reported")
            continue
        numbers = [got["value"]]
        if isinstance(wanted, list):
            numbers += [got["low"], got["high"]]
        else:
            wanted = [wanted]
        for reported_number, quantity in zip(numbers, wanted, strict=True):
            recomputed = float(quantity.to(UNITS[got["unit"]]).magnitude)
            compared += 1
            if not same(reported_number, recomputed):
                found.append(f"{name}: reported {reported_number!r}, recomputed {recomputed!r} {got['unit']}")
    said = {finding["key"].split(".")[0] for finding in report["findings"]}
    for name, wanted in answer.findings.items():
        compared += 1
        if (name in said) != wanted:
            found.append(f"finding {name} is {'said' if name in said else 'not said'}, and should {'' if wanted else 'not '}be")
    return found, compared


def binary(name="assess", *options):
    """Builds an example and says where it is."""
    build = ["cargo", "build", "--quiet", "--example", name, "--message-format", "json-render-diagnostics", *options]
    out = subprocess.run(build, cwd=ROOT, check=True, stdout=subprocess.PIPE, text=True).stdout
    messages = map(json.loads, out.splitlines())
    return next(m["executable"] for m in messages if m.get("executable") and m["target"]["name"] == name)


SELDOM = 8
"""Each of these is drawn at least so often in a thousand cases."""

WORTH_DRAWING = [
    *cases.AGENTS, *cases.SAMPLES, *cases.KINDS, "fill_mark", "added_blood", "up", "down", "exact", "short draw",
    "set aside", "mark below anticoagulant", "mark not entered", "no mark at all", "nadler", "lemmens",
    "speed rounded down", "no count", "replicates", "pooled", "addition", "calcium", "share-out", "dilution unsaid", "not collected", "addition in part",
]  # fmt: skip


def run(options):
    if options.plant is not None and options.plant not in f.NAMES:
        sys.exit(f"no formula is called {options.plant!r}; --names lists them")
    f.planted = options.plant
    drawn = [cases.make(options.seed, i) for i in range(options.count)]
    lines = "".join(draft + "\n" for _, draft in drawn)
    command = [options.binary or binary(), "--lines", "--at", "0"]
    done = subprocess.run(command, input=lines, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, check=False)
    reports = done.stdout.splitlines()
    if len(reports) != len(drawn):
        sys.exit(f"{len(drawn)} cases, {len(reports)} reports: {done.stderr}")
    compared = 0
    for index, ((meant, _), line) in enumerate(zip(drawn, reports)):
        report = json.loads(line)
        where = f"case {index} of seed {options.seed}"
        if "error" in report:
            sys.exit(f"{where} was refused: {report['error']}")
        found, numbers = differences(Answer(meant), report)
        compared += numbers
        if found:
            sys.exit(f"{where}, after {compared} numbers:\n  " + "\n  ".join(found))
    few = [f"{name} ({seen[name]})" for name in WORTH_DRAWING if seen[name] * 1000 < SELDOM * options.count]
    if few and options.count >= 1000:
        sys.exit(f"drawn too seldom: {', '.join(few)}")
    print(f"{options.count} cases, {compared} numbers agree to 1 part in 10⁹; formulas: {len(f.NAMES)}")


def main(arguments=None):
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    long = bool(os.environ.get("STRAWLINE_LONG"))
    parser.add_argument("--count", type=int)
    parser.add_argument("--long", action="store_true", default=long, help="10 000 cases instead of 1000")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--plant", metavar="NAME")
    parser.add_argument("--binary")
    parser.add_argument("--names", action="store_true")
    parser.add_argument("--show", type=int, metavar="INDEX")
    options = parser.parse_args(arguments)
    options.count = options.count or (10_000 if options.long else 1000)
    if options.names:
        print("\n".join(f.NAMES))
    elif options.show is not None:
        print(cases.make(options.seed, options.show)[1])
    else:
        run(options)


if __name__ == "__main__":
    main()
