"""The formulas of the model once more, on quantities whose units pint checks. Nothing here is read from the crate.

Constants carry the fact they rest on; the source ids are those of the list of sources.
"""

import functools
import math
from fractions import Fraction
from statistics import NormalDist

import pint

u = pint.UnitRegistry()
u.define("cell = [cell]")

ML = u.milliliter
COUNT = u.gigacell / u.liter
CELLS = u.gigacell
MMOL = u.millimole
NONE = u.dimensionless

NAMES = []
"""Every formula, by the name under which an error can be planted in it."""

planted = None
ERROR = Fraction(1_000_001, 1_000_000)


def formula(function):
    """Registers a formula. The planted one is wrong by one part in a million."""
    name = function.__name__.replace("_", "-")
    NAMES.append(name)

    @functools.wraps(function)
    def reckoned(*args):
        result = function(*args)
        return result * ERROR if planted == name else result

    return reckoned


# Draw


@formula
def anticoagulant_in_a_fill(fill, ratio):
    return fill * ratio / (1 + ratio)


@formula
def anticoagulant_for_blood(blood, ratio):
    return blood * ratio


@formula
def whole_steps(amount, step, up):
    count = (amount / step).to(NONE).magnitude
    return (math.ceil(count) if up else math.floor(count)) * step


@formula
def blood_beside(fill, anticoagulant):
    return fill - anticoagulant


@formula
def fill_of(anticoagulant, blood):
    return anticoagulant + blood


@formula
def anticoagulant_per_blood(anticoagulant, blood):
    return anticoagulant / blood


@formula
def mixture_haematocrit(anticoagulant, blood, haematocrit):
    return blood * haematocrit / (anticoagulant + blood)


@formula
def plasma(anticoagulant, blood, haematocrit):
    return anticoagulant + blood * (1 - haematocrit)


# Grams of citric acid (anhydrous) and of trisodium citrate dihydrate in a litre: USP, and the names of the two
# citrate solutions (1 % w/v is 10 g/L).
LITRE = {
    "acd_a": ("7.3", "22.0"),
    "acd_b": ("4.4", "13.2"),
    "sodium_citrate_3_2": ("0", "32"),
    "sodium_citrate_3_8": ("0", "38"),
    "cpd": ("2.99", "26.3"),
}
CITRIC_ACID = Fraction("192.124") * u.gram / u.mole
CITRATE_DIHYDRATE = Fraction("294.10") * u.gram / u.mole


@formula
def citrate_of_agent(agent):
    acid, salt = (Fraction(grams) * u.gram / u.liter for grams in LITRE[agent])
    return acid / CITRIC_ACID + salt / CITRATE_DIHYDRATE


@formula
def plasma_citrate(agent, anticoagulant, in_plasma):
    return citrate_of_agent(agent) * anticoagulant / in_plasma


# Patient


@formula
def sum_of_volumes(*volumes):
    return sum(volumes, 0 * ML)


@formula
def drawn_per_weight(drawn, weight):
    return drawn / weight


@formula
def nadler(sex, height, weight):
    """Nadler 1962, litres from metres and kilograms."""
    cube, per_kg, rest = ("0.3669", "0.03219", "0.6041") if sex == "male" else ("0.3561", "0.03308", "0.1833")
    litres = Fraction(cube) * u.liter / u.meter**3 * height**3
    return litres + Fraction(per_kg) * u.liter / u.kilogram * weight + Fraction(rest) * u.liter


@formula
def lemmens(height, weight):
    """Lemmens, Bernstein, Brodsky 2006: 70 mL/kg at 22 kg/m², less by the root of the body-mass index."""
    index = (weight / height**2).to("kg/m**2").magnitude
    return 70 * ML / u.kilogram * weight / math.sqrt(index / 22)


@formula
def drawn_share(drawn, blood_volume):
    return drawn / blood_volume


# Spin


@formula
def force(speed, radius):
    return speed.to("radian/second") ** 2 * radius / u.standard_gravity


@formula
def speed_for(relative_force, radius):
    return ((relative_force * u.standard_gravity / radius) ** 0.5 * u.radian).to(u.rpm)


@formula
def nearest_speed(speed, step):
    return math.floor((speed / step).to(NONE).magnitude + 0.5) * step


@formula
def speed_below(speed, step):
    return math.floor((speed / step).to(NONE).magnitude) * step


@formula
def mean_radius(low, high):
    return (low + high) / 2


# Counts


@formula
def native_count(reading, factor):
    return reading * factor


ANALYSER = 0.03  # analyser-cv
WITHIN_PERSON = 0.086  # within-person-cv, the larger of the two published
AGEING = 30 * u.day  # judgement


@formula
def count_cv(age):
    share = 1.0 if age is None else 1 - math.exp(-(age / AGEING).to(NONE).magnitude)
    return math.sqrt(ANALYSER**2 + WITHIN_PERSON**2 * share) * NONE


@formula
def platelets_in(concentration, volume):
    return concentration * volume


@formula
def mean_reading(readings):
    return sum(readings, 0 * COUNT) / len(readings)


@formula
def undiluted(reading, dilution):
    return reading * dilution


@formula
def replicate_cv(readings):
    mean = sum(readings, 0 * COUNT) / len(readings)
    squares = sum((((r - mean) / mean).to(NONE).magnitude ** 2 for r in readings), Fraction(0))
    return math.sqrt(squares / (len(readings) - 1)) * NONE


@formula
def fold_of(product, native):
    return product / native


@formula
def recovery_of(product, drawn):
    return product / drawn


# Product


@formula
def most_plasma(fill, blood, haematocrit, packing, left):
    above = max(0 * ML, fill - blood * haematocrit / packing)
    return max(0 * ML, above - left)


@formula
def ceiling(blood, product):
    return blood / product


@formula
def left_behind(fill, product):
    return max(0 * ML, fill - product)


@formula
def losses(changes, per_change, transfers, per_transfer):
    return changes * per_change + transfers * per_transfer


@formula
def left_over(product, sample, added, lost, given):
    return max(0 * ML, max(0 * ML, product - sample) + added - lost - given)


@formula
def after_sample(product, sample):
    return max(0 * ML, product - sample)


@formula
def diluted(concentration, volume, added):
    return concentration * volume / (volume + added)


# Calcium in the 10 % solutions, by their labels: 6.8 mmol in 10 mL of the chloride, 0.232 mmol in 1 mL of the
# gluconate.
CALCIUM = {
    "calcium_chloride": Fraction("6.8") * MMOL / (10 * ML),
    "calcium_gluconate": Fraction("0.232") * MMOL / (1 * ML),
}


@formula
def calcium_in(salt, volume, percent):
    return CALCIUM[salt] * volume * percent / 10


@formula
def citrate_in(concentration, volume):
    return concentration * volume


@formula
def calcium_per_citrate(calcium, citrate):
    return calcium / citrate


# Spread: log-normal with the mean and SD of the literature, cut at what is possible.

NORMAL = NormalDist()


def below(z):
    return 0.5 * math.erfc(-z / math.sqrt(2))


@formula
def log_variance(mean, sd):
    return math.log(1 + (sd / mean) ** 2)


@formula
def log_mean(mean, variance):
    return math.exp(math.log(mean) - variance / 2)


class Spread:
    """ln x ~ Normal, x ≤ top."""

    def __init__(self, mean, sd, top=math.inf):
        variance = log_variance(mean, sd)
        self.middle, self.sd = log_mean(mean, variance), math.sqrt(variance)
        if self.sd > 0:
            self.top = (math.log(top) - math.log(self.middle)) / self.sd if top < math.inf else math.inf
        else:
            self.top = math.inf if self.middle <= top else -math.inf
        self.kept = below(self.top)


@formula
def quantile(spread, p):
    return spread.middle * math.exp(spread.sd * NORMAL.inv_cdf(p * spread.kept)) if spread.sd > 0 else spread.middle


def gauss(order):
    """Nodes and weights of Gauss and Legendre on −1 to 1, by Newton on the polynomial."""
    rule = []
    for i in range(order):
        x = math.cos(math.pi * (i + 0.75) / (order + 0.5))
        for _ in range(100):
            p, before = x, 1.0
            for k in range(2, order + 1):
                p, before = ((2 * k - 1) * x * p - (k - 1) * before) / k, p
            slope = order * (x * p - before) / (x * x - 1)
            x -= p / slope
            if abs(p / slope) < 1e-15:
                break
        rule.append((x, 2 / ((1 - x * x) * slope * slope)))
    return rule


TEN = gauss(10)


@formula
def pooled_spread(sd, containers):
    """Of the mean of so many containers, any two of which correlate by 0.8."""
    return sd * math.sqrt((1 + (containers - 1) * 0.8) / containers)


@formula
def read_error(volume, graduation):
    """Half a graduation as a share of the volume, never all of it."""
    return min(float((graduation / volume).to(NONE).magnitude) / 2, 0.999)


def below_read(k, half, times):
    """Chance that a normal of spread k, plus or minus ln u with u even on 1 ± half, is no more than t.

    E Φ((t ∓ ln u)/k): with L(u) = u·Φ(x) − e^(±t + k²/2)·Φ(x ± k), x = (t ∓ ln u)/k, it is what L gains from end to
    end over the width."""
    sign = 1 if times else -1

    def gains(t, u):
        x = (t - sign * math.log(u)) / k
        return u * below(x) - math.exp(sign * t + k * k / 2) * below(x + sign * k)

    return lambda t: min(max((gains(t, 1 + half) - gains(t, 1 - half)) / (2 * half), 0.0), 1.0)


@formula
def quantile_of_product(cut, free, p, read=None):
    """The quantile of `cut` (a truncated spread) times `free`: ∫ φ(z) Φ((t − s·z)/k) dz over z ≤ top is p·Φ(top).

    `read` is the error of a volume by its graduation, and whether the product goes with it or against it."""
    s, k = cut.sd, free.sd
    if read is not None and read[0] <= 1e-6:
        read = None
    if k == 0:
        return quantile(cut, p) * free.middle
    if s == 0 and read is None:
        return cut.middle * free.middle * math.exp(k * NORMAL.inv_cdf(p))
    low, high = -8.5, min(cut.top, 8.5)
    # Φ bends over a width of k/s
    panels = math.ceil((high - low) / min(0.5, 2.5 * k / s)) if s > 0 else 34
    half = (high - low) / panels / 2
    nodes = [
        (z, weight * half * math.exp(-z * z / 2) / math.sqrt(2 * math.pi) / cut.kept)
        for i in range(panels)
        for z, weight in ((low + half * (2 * i + 1 + x), w) for x, w in TEN)
    ]
    scale, slope = k * math.sqrt(2), s / (k * math.sqrt(2))

    wide = 0.0
    if read is None:

        def off(t):
            at = t / scale
            return sum(w * math.erfc(slope * z - at) for z, w in nodes) / 2 - p

    else:
        chance = below_read(k, *read)
        wide = -math.log1p(-read[0])
        # beyond its reach a chance is 0 or 1
        edge = 9 * k + wide

        def off(t):
            at = lambda z: 0.0 if t - s * z < -edge else 1.0 if t - s * z > edge else chance(t - s * z)
            return sum(w * at(z) for z, w in nodes) - p

    a, b = -9 * math.hypot(s, k) - wide, s * high + 9 * k + wide
    fa, fb = off(a), off(b)
    t = (a + b) / 2
    # secant steps inside a bracket that only shrinks
    previous, f_previous = a, fa
    for _ in range(200):
        f = off(t)
        if f < 0:
            a, fa = t, f
        else:
            b, fb = t, f
        step = t - f * (t - previous) / (f - f_previous) if f != f_previous else math.inf
        previous, f_previous = t, f
        t = step if a < step < b else (a + b) / 2
        if abs(t - previous) < 1e-14:
            break
    return cut.middle * free.middle * math.exp(t)
