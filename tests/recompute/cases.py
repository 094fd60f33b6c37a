"""Cases of our own: what is meant, as quantities, and the stored draft that says so in typed texts."""

import json
import random
from decimal import Decimal
from fractions import Fraction
from types import SimpleNamespace

from formulas import COUNT, ML, NONE, u

AGENTS = ["acd_a", "acd_b", "sodium_citrate_3_2", "sodium_citrate_3_8", "cpd", "clinic_own", "edta", "heparin"]
SAMPLES = ["laboratory_edta", "filled_container", "liquid_citrate", "finger_prick", "older_result"]
KINDS = ["off_the_top", "concentrate", "with_cells"]
FORGOTTEN = "anticoagulant_forgotten"


def plain(x):
    """A short decimal as text, without zeros at its end."""
    text = format(Decimal(x.numerator) / Decimal(x.denominator), "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def number(x):
    """A short decimal as JSON writes it."""
    return None if x is None else float(x)


class Draw:
    """Everything that is drawn for one case."""

    def __init__(self, seed):
        self.random = random.Random(seed)

    def chance(self, percent):
        return self.random.random() * 100 < percent

    def pick(self, options):
        return self.random.choice(options)

    def step(self, low, high, step):
        """A multiple of `step` from `low` to `high`."""
        low, high, step = Fraction(low), Fraction(high), Fraction(step)
        return self.random.randint(-(-low // step), high // step) * step


class Typist:
    """Types numbers under one set of conventions."""

    def __init__(self, draw):
        self.draw = draw
        self.texts = {}
        self.conventions = {
            "numbers": draw.pick(["point", "comma"]),
            "count": draw.pick(["per_litre", "per_microlitre"]),
            "haematocrit": draw.pick(["percent", "ratio"]),
            "haemoglobin": draw.pick(["gram_per_decilitre", "gram_per_litre"]),
            "mass": draw.pick(["kilogram", "pound"]),
            "height": draw.pick(["centimetre", "feet_inches"]),
        }

    def type(self, key, x, unit=""):
        text = plain(x)
        if self.conventions["numbers"] == "comma":
            text = text.replace(".", ",")
        self.texts[key] = f"{text} {unit}".strip()

    def volume(self, key, low, high, step="0.1"):
        x = self.draw.step(low, high, step)
        if self.draw.chance(5):
            self.type(key, x * 1000, "µL")
        else:
            self.type(key, x, self.draw.pick(["", "", "mL"]))
        return x * ML

    def count(self, key, low, high):
        x = self.draw.step(low, high, 1)
        if self.draw.chance(10):
            self.type(key, x * 1000, "/µL")
        else:
            self.type(key, x, self.draw.pick(["", "", "×10⁹/L", "10*3/uL"]))
        return x * COUNT

    def haematocrit(self, key):
        percent = self.draw.step(20, 60, "0.1")
        if self.conventions["haematocrit"] == "percent":
            self.type(key, percent)
        elif self.draw.chance(20):
            self.type(key, percent, "%")
        else:
            self.type(key, percent / 100)
        return percent / 100 * NONE

    def weight(self):
        if self.conventions["mass"] == "pound":
            pounds = self.draw.step(90, 260, "0.5")
            self.type("weight", pounds)
            return float(pounds) * u.pound
        kilograms = self.draw.step(31, 130, "0.1")
        self.type("weight", kilograms)
        return kilograms * u.kilogram

    def height(self):
        if self.conventions["height"] == "feet_inches":
            feet, inches = self.draw.pick([5, 6]), self.draw.step(0, 11, 1)
            self.texts["height"] = f"{feet} ft {plain(inches)} in"
            return (12 * feet + inches) * u.inch
        centimetres = self.draw.step(145, 200, "0.5")
        self.type("height", centimetres)
        return centimetres * u.centimeter

    def plain(self, key, x):
        self.type(key, x)
        return x


def container(d):
    high = d.pick([10, 15, 30, 50])
    c = SimpleNamespace(
        fill_low=Fraction(high, 2) * ML,
        fill_high=high * ML,
        capacity=Fraction(6, 5) * high * ML,
        graduation=d.pick([Fraction(1, 10), Fraction(1, 5), Fraction(1, 2), Fraction(1), Fraction(2)]) * ML,
        rated=d.step(300, 3000, 50) * NONE if d.chance(40) else None,
        transfer_loss=d.step(0, "0.2", "0.05") * ML,
        needle_loss=d.step(0, "0.2", "0.05") * ML,
        prefill=None,
    )
    if d.chance(8):
        c.prefill = (d.pick(AGENTS[:5]), d.step(Fraction(high, 20), Fraction(high, 5), "0.05") * ML)
    millilitres = {key: number(getattr(c, key).magnitude) for key in ["capacity", "fill_low", "fill_high"]}
    stored = millilitres | {
        "id": "c",
        "name": "Container",
        "graduation": 1.0,
        "anticoagulant_graduation": number(c.graduation.magnitude),
        "prefill": c.prefill and {"agent": c.prefill[0], "volume": number(c.prefill[1].magnitude)},
        "product_low": None,
        "product_high": None,
        "rated": c.rated and number(c.rated.magnitude),
        "transfer_loss": number(c.transfer_loss.magnitude),
        "needle_loss": number(c.needle_loss.magnitude),
        "inner_diameter": 15.0,
        "bottom": "round",
    }
    return c, stored


def dosing(d, c):
    """Per blood or per container, as quantity and as stored."""
    if d.chance(25):
        amount = d.step(c.fill_high.magnitude / 20, c.fill_high.magnitude / 4, "0.1")
        return amount * ML, {"per_container": number(amount)}
    ratio = d.step("0.06", "0.26", "0.005")
    return ratio * NONE, {"per_blood": number(ratio)}


def stages(d):
    all_of_them, stored = [], []
    for _ in range(d.pick([0, 1, 2, 3, 4])):
        at = d.pick(["minimum", "mean", "maximum"])
        g, rpm, time = d.step(100, 2500, 10), d.step(500, 5000, 5), number(d.step(10, 900, 10))
        asked = ("rpm", rpm * u.rpm) if d.chance(30) else (at, g * NONE)
        speed = {"rpm": number(rpm)} if asked[0] == "rpm" else {"rcf": {"g": number(g), "at": at}}
        which = d.pick(["hold", "hold", "hold", "ramp", "stop", "handling"])
        all_of_them.append(asked if which in ("hold", "ramp") else None)
        stored.append(
            {
                "hold": {"hold": {"speed": speed, "time": time}},
                "ramp": {"ramp": {"to": speed, "time": time}},
                "stop": {"stop": {"time": None}},
                "handling": {"handling": {"what": "move the plasma", "time": None}},
            }[which]
        )
    return all_of_them, stored


def expectation(d, kind):
    """Mean and SD of what the kind keeps stable."""
    fold = kind == "off_the_top"
    mean = d.step("1.2", "2.2", "0.05") if fold else d.step("0.3", "0.9", "0.01")
    sd = d.step(0, "0.4", "0.02") if fold else d.step(0, "0.25", "0.01")
    inner = {"mean": number(mean), "sd": number(sd)}
    if kind == "with_cells":
        inner["haematocrit"] = 0.05
    name = {"off_the_top": "fold", "concentrate": "recovery", "with_cells": "recovery_with_cells"}[kind]
    basis = d.pick(["clinic_entry", {"clinic_counts": {"n": 12}}])
    return (float(mean), float(sd)), basis != "clinic_entry", {"expected": {name: inner}, "basis": basis}


def protocol(d, c):
    kind = d.pick(KINDS)
    p = SimpleNamespace(kind=kind, agent="acd_a" if d.chance(45) else d.pick(AGENTS), dosing=None, band=None)
    p.packing = d.step("0.6", "0.95", "0.01") * NONE
    p.left_behind = d.step(0, 1, "0.1") * ML
    p.product = d.step("0.5", 5, "0.1") * ML
    p.count_sample = d.step(0, "0.5", "0.1") * ML
    p.stages, programme = stages(d)
    p.expected, p.expected_kind, p.learned, expected = None, None, False, None
    if d.chance(92):
        p.expected_kind = kind if d.chance(94) else d.pick(KINDS)
        p.expected, p.learned, expected = expectation(d, p.expected_kind)
    stored_dosing = None
    if d.chance(85):
        p.dosing, stored_dosing = dosing(d, c)
    own_band = None
    if d.chance(45):
        low = d.step("0.06", "0.18", "0.01")
        p.band = (low, low + d.step("0.02", "0.1", "0.01"))
        own_band = {"low": number(p.band[0]), "high": number(p.band[1])}
    stored = {
        "id": "p",
        "name": "Protocol",
        "kind": kind,
        "white_cells": "unknown",
        "expectation": expected,
        "agent": p.agent,
        "dosing": stored_dosing,
        "own_band": own_band,
        "programme": programme,
        "product": number(p.product.magnitude),
        "count_sample": number(p.count_sample.magnitude),
        "left_behind": number(p.left_behind.magnitude),
        "packing": number(p.packing.magnitude),
    }
    return p, stored


def rotor(d):
    high = d.step(90, 200, 1)
    r = SimpleNamespace(
        minimum=d.step(30, high - 20, 1) * u.millimeter if d.chance(60) else None,
        maximum=high * u.millimeter if d.chance(92) else None,
        rated_rpm=d.step(1500, 5000, 50) * u.rpm if d.chance(40) else None,
        rated_bucket=d.step(300, 3000, 50) * NONE if d.chance(40) else None,
        speed_step=d.pick([1, 10, 50, 100]) * u.rpm if d.chance(75) else None,
    )
    keys = ["minimum", "maximum", "rated_rpm", "rated_bucket", "speed_step"]
    stored = {key: None if getattr(r, key) is None else number(getattr(r, key).magnitude) for key in keys}
    return r, stored | {"id": "r", "name": "Rotor", "kind": "swing_out"}


def additions(d, t):
    rows, chosen = [], {}
    for i in range(d.pick([0, 0, 1, 1, 2, 3])):
        what = d.pick(["calcium_chloride", "calcium_gluconate", "autologous_thrombin", "local_anaesthetic", "other"])
        chosen[str(i)] = what
        volume = t.volume(f"addition_volume_{i + 1}", "0.02", 2, "0.02") if d.chance(93) else None
        percent = None
        if what not in ("autologous_thrombin", "other"):
            percent = t.plain(f"addition_strength_{i + 1}", d.step(1, 20, "0.5"))
        if what == "other":
            t.texts[f"addition_name_{i + 1}"] = "diluent"
        rows.append((what, percent, volume))
    return rows, chosen


def make(seed, index):
    """Case `index` of a seed: what is meant, and its draft."""
    d = Draw(f"{seed} {index}")
    t = Typist(d)
    m = SimpleNamespace()
    m.container, stored_container = container(d)
    m.protocol, stored_protocol = protocol(d, m.container)
    m.rotor, stored_rotor = rotor(d) if d.chance(85) else (None, None)
    asked = [amount for at, amount in filter(None, m.protocol.stages) if at == "rpm"]
    if m.rotor and asked and d.chance(25):
        # so that only rounding up would pass the rating
        m.rotor.rated_rpm = asked[0]
        stored_rotor["rated_rpm"] = number(asked[0].magnitude)

    m.standing = d.pick(["today", "today", "today", "older", "no_count"])
    m.sample = d.pick(SAMPLES) if d.chance(90) else None
    m.reading = t.count("blood_count", 60, 600) if d.chance(92) else None
    m.age = t.plain("count_age", d.step(0, 700, 1)) * u.day if d.chance(50) else None
    m.citrate_factor = t.plain("citrate_factor", d.step("1.05", "1.25", "0.01")) if d.chance(40) else None
    m.haematocrit = t.haematocrit("blood_haematocrit") if d.chance(85) else None
    m.sex = d.pick([None, "female", "male"])
    m.weight = t.weight() if d.chance(75) else None
    m.height = t.height() if d.chance(70) else None
    if m.weight is not None and m.height is not None:
        body_mass = (m.weight / m.height**2).to("kg/m**2").magnitude
        if not 12.5 < body_mass < 49.5:
            # with its unit it is taken as it is, and not asked about
            t.texts["weight"] += " lb" if t.conventions["mass"] == "pound" else " kg"
    m.discard = t.volume("discard", 0, 20, 1) if d.chance(40) else 0 * ML
    m.previous = t.volume("previous_blood", 0, 400, 10) if d.chance(30) else 0 * ML

    m.agent = d.pick(AGENTS) if d.chance(25) else None
    m.convention = d.pick(["fill_mark", "added_blood"])
    low, high = m.container.fill_low.magnitude, m.container.fill_high.magnitude
    m.planned = int(t.plain("containers", d.step(1, 6, 1)))
    m.volume = None
    if d.chance(96):
        m.volume = t.volume("fill_volume", low * Fraction(4, 5), high, "0.5")
    m.chosen = t.volume("anticoagulant_chosen", high / 20, high / 5) if d.chance(10) else None
    m.per_100 = None
    if d.chance(15):
        m.per_100 = t.plain("anticoagulant_per_100", d.step(6, 26, "0.5")) / 100
    m.per_container = t.volume("anticoagulant_per_container", high / 20, high / 4) if d.chance(10) else None

    rows_of_containers = 0 if d.chance(85) else d.pick([1, 2, 3, 5])
    m.in_hand, troubles = [], []
    for i in range(max(rows_of_containers, m.planned)):
        c = SimpleNamespace(anticoagulant=None, fill=None, forgotten=False, set_aside=False)
        if d.chance(35):
            c.fill = t.volume(f"fill_actual_{i + 1}", high / 3, high, "0.5")
        elif d.chance(3):
            c.fill = t.volume(f"fill_actual_{i + 1}", 0, high / 20, "0.1")
        if d.chance(15):
            c.anticoagulant = t.volume(f"anticoagulant_actual_{i + 1}", high / 20, high / 5)
        if d.chance(4):
            kind = d.pick([FORGOTTEN, "clot"])
            c.forgotten, c.set_aside = kind == FORGOTTEN, d.chance(60)
            troubles.append({"kind": kind, "container": i, "at": 0, "by": "MO", "set_aside": c.set_aside})
        m.in_hand.append(c)

    m.run = {}
    for i in range(len(m.protocol.stages)):
        if d.chance(25):
            m.run[i] = t.plain(f"speed_actual_{i + 1}", d.step(300, 5000, 1)) * u.rpm

    share = ("0.2", "0.7") if m.protocol.kind == "off_the_top" else ("0.05", "0.5")
    all_of_it = m.planned * high
    from_, to = (max(Fraction(1, 10), Fraction(s) * all_of_it) for s in share)
    m.product_planned = t.volume("product_volume", from_, min(to, 200)) if d.chance(85) else m.protocol.product
    m.product_actual = t.volume("product_actual", from_ / 2, min(to, 200)) if d.chance(35) else None
    m.count_sample = t.volume("count_sample", 0, "0.6", "0.05") if d.chance(50) else m.protocol.count_sample
    readings = d.pick([0, 1, 1, 2, 3, 5])
    around = d.random.randint(25, 450)
    m.readings = [t.count(f"reading_{i + 1}", max(20, around - 20), around + 20) for i in range(readings)]
    if readings == 0:
        # nothing is counted, so that no sample is taken
        m.count_sample = 0 * ML
    m.mixed = d.pick([True] * 8 + [False, None])
    m.dilution, said = None, None
    if d.chance(60):
        m.dilution = t.plain("dilution", d.pick([Fraction(n) for n in (1, 2, 5, 10, 20)]))
        said = d.pick([None, "diluted"])
    elif d.chance(75):
        m.dilution, said = 1, "undiluted"
    m.changes = int(t.plain("needle_changes", d.step(0, 4, 1))) if d.chance(60) else 0
    m.transfers = int(t.plain("transfers", d.step(0, 4, 1))) if d.chance(60) else 0
    m.additions, chosen = additions(d, t)
    m.parts = []
    for i in range(d.pick([0, 1, 2, 3, 4])):
        ordered = t.volume(f"part_volume_{i + 1}", "0.1", 3) if d.chance(85) else None
        given = t.volume(f"part_given_{i + 1}", 0, 3) if d.chance(30) else None
        m.parts.append((ordered, given))
    m.order_volume = t.volume("order_volume", "0.5", 6) if d.chance(80) else None

    m.needle_out = d.chance(15)

    draft = {
        "schema": 1,
        "id": f"{seed}-{index}",
        "sign": "7K",
        "begun": 0,
        "conventions": t.conventions,
        "kit": {"container": stored_container, "protocol": stored_protocol, "rotor": stored_rotor},
        "texts": t.texts,
        "choices": {
            "count": m.standing,
            "sample": m.sample,
            "sex": m.sex,
            "agent": m.agent,
            "convention": m.convention,
            "additions": chosen,
            "dilution": said,
            "mixed_no_clumps": m.mixed,
        },
        "rows": {
            "parts": len(m.parts),
            "readings": readings,
            "additions": len(m.additions),
            "containers": rows_of_containers,
        },
        "troubles": troubles,
        "times": {"needle_out": 0 if m.needle_out else None},
    }
    return m, json.dumps(draft, ensure_ascii=False)
