"""The column that a spin makes, from the published equations, solved by other people's code.

Kinds of cell k with volume fractions φ_k in a tube of cross-section A(r), closed at both ends:

    ∂(A·φ_k)/∂t + ∂(A·φ_k·v_k)/∂r = 0,   v_k = slip_k − Σ_j φ_j·slip_j          (continuity)
    slip_k = K_k·(ρ_k − ρ_s)·ω²r·(1 − Φ)^(n−2)·c,   K_k = d_k²/(18µ), Φ = Σ_j φ_j

Kynch 1952 with Richardson and Zaki 1954 for one kind, Masliyah 1979 and Lockett and Bassoon 1979 for several, ρ_s the
density of the suspension (all from memory). c = 1 − (Φ/φ_m)⁸ and how φ_m and the clumping of red cells follow the force
are closures of the picture itself: they are taken from its description in `src/spin/column`, not tested here.

Solvers: `claw` is Clawpack's classic high-resolution scheme (LeVeque 2002; f-waves for the flux that follows r, Bale,
LeVeque, Mitran and Rossmanith 2002): independent in space and in time. `lines` is SciPy's LSODA on a method of lines cut
in space as ours is: independent in time only. SI units throughout.
"""

import math
from dataclasses import dataclass

import numpy
from scipy.constants import g as GRAVITY
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq


@dataclass
class Problem:
    """One spin of one tube: flat, round or a cone at its bottom."""

    setup: dict
    assumed: dict
    """Assumptions by key, as the example `spin` lists them: inputs here."""

    def __post_init__(self):
        a, blood, spin = self.assumed, self.setup["blood"], self.setup["spins"][0]
        plasma = blood["blood"] * (1 - blood["haematocrit"])
        share = plasma / (plasma + blood["anticoagulant"])
        self.fluid = share * a["plasma_density"] + (1 - share) * a["anticoagulant_density"]
        viscosity = 1e-3 * a["plasma_viscosity"] ** share * a["anticoagulant_viscosity"] ** (1 - share)
        fill = blood["blood"] + blood["anticoagulant"]
        thinned = blood["blood"] / fill
        # Mean over a log-normal by Gauss and Hermite's rule, as NumPy has it.
        nodes, weights = numpy.polynomial.hermite_e.hermegauss(5)
        spread = a["platelet_spread"]
        sizes = 1e-18 * a["platelet_volume"] * numpy.exp(spread * nodes - spread**2 / 2)
        counts = weights / weights.sum() * blood["platelets"] * 1e12
        self.each = numpy.concatenate([[1e-18 * a["red_volume"]], sizes])
        filled = numpy.concatenate([[blood["haematocrit"]], counts * sizes])
        self.filled = thinned * filled
        density = numpy.full(6, a["platelet_density"])
        density[0] = a["red_density"]
        shape = numpy.full(6, a["platelet_drag"])
        shape[0] = 1.0
        diameter = (6 * self.each / math.pi) ** (2 / 3)
        self.drag = shape * diameter / (18 * viscosity)
        self.over = density - self.fluid
        slope = (a["packed_hard"] - a["packed_soft"]) / math.log(1430 / 150)
        self.packing = (a["packed_soft"] - slope * math.log(150), slope, a["packed_least"], a["packed_most"])
        self.extra = (a["clumping"] - 1) * share ** a["clumping_thinned"]
        self.bottom = self.setup["rotor"]["maximum"] / 1000
        self.width = spin["tube"]["inner_diameter"] / 1000
        end = spin["tube"]["end"]
        self.tip = end["cone"]["tip"] / 1000 if "cone" in end else None
        # Where the bottom ends and the tube is as wide as it gets.
        self.shoulder = {"flat": 0.0, "round": self.width / 2}[end] if self.tip is None else end["cone"]["height"] / 1000
        self.height = brentq(lambda x: self.volume(0, x) - fill / 1e6, 1e-6, 0.2, xtol=1e-15, rtol=1e-14)
        self.course = []
        speed = 0.0
        for stage in spin["programme"]:
            (kind, stage), = stage.items()
            to = {"ramp": lambda s: s["to"]["rpm"], "hold": lambda s: s["speed"]["rpm"], "stop": lambda s: 0.0}[kind](stage)
            self.course.append((stage["time"], to if kind == "hold" else speed, to))
            speed = to
        self.time = sum(time for time, _, _ in self.course)

    def area_at(self, height):
        """Cross-section at a height above the bottom."""
        if height >= self.shoulder:
            return math.pi / 4 * self.width**2
        if self.tip is None:
            return math.pi * height * (self.width - height)
        return math.pi / 4 * (self.tip + (self.width - self.tip) * height / self.shoulder) ** 2

    def volume(self, low, high):
        """Between two heights."""
        parts = sorted({low, high, min(max(self.shoulder, low), high)})
        return sum(quad(self.area_at, a, b)[0] for a, b in zip(parts, parts[1:]))

    def omega(self, t):
        for time, start, end in self.course:
            if t <= time:
                return math.pi / 30 * (start + (end - start) * t / time)
            t -= time
        return math.pi / 30 * self.course[-1][2]

    def slips(self, phi, pull, omega, t, over_suspension=None):
        """slip_k at places `pull` from the axis; `over_suspension` where its density is not that of `phi`."""
        a = omega**2 * pull
        solids = phi.sum(axis=0)
        if over_suspension is None:
            over_suspension = self.over @ phi
        at_one, slope, low, high = self.packing
        most = numpy.clip(at_one + slope * numpy.log(numpy.maximum(a, 1e-300) / GRAVITY), low, high)
        ease = numpy.maximum(1 - solids, 0) ** (self.assumed["hindrance"] - 2) * numpy.maximum(1 - (solids / most) ** 8, 0)
        slips = self.drag[:, None] * (self.over[:, None] - over_suspension) * a * ease
        fall = self.assumed["clumping_fall"]
        onset = 1 - math.exp(-t / self.assumed["onset"])
        slips[0] *= 1 + onset * self.extra * (160 * GRAVITY / numpy.maximum(a, 1e-300)) ** fall
        return slips

    def velocities(self, phi, pull, omega, t):
        slips = self.slips(phi, pull, omega, t)
        return slips - (phi * slips).sum(axis=0)

    def grid(self, cells):
        """Faces from the top, mean cross-section of each cell."""
        faces = self.bottom - self.height * numpy.linspace(1, 0, cells + 1)
        x = self.bottom - faces
        # The lowest face is the bottom, whatever the difference rounds to.
        x[-1] = 0.0
        return faces, numpy.array([self.volume(low, high) for high, low in zip(x, x[1:])]) / (self.height / cells)

    def seen(self, phi):
        """Red cells, and platelets over their start, as a profile shows them."""
        count = (phi[1:] / self.each[1:, None]).sum(axis=0)
        return phi[0], count / (self.filled[1:] / self.each[1:]).sum()


def claw(problem, cells, times):
    """Profiles at times, by Clawpack."""
    from clawpack import pyclaw

    kinds = len(problem.filled)

    def flux(q, aux, data):
        area, pull, inside = aux
        return inside * area * q * problem.velocities(q, pull, data["omega"], data["t"])

    def fastest(q, aux, data):
        """Per kind: of red cells how fast their waves run, of all how fast they go themselves."""
        step = 1e-7
        more = q.copy()
        more[0] += step
        v = numpy.abs(problem.velocities(q, aux[1], data["omega"], data["t"]))
        v[0] = numpy.maximum(v[0], numpy.abs(flux(more, aux, data)[0] - flux(q, aux, data)[0]) / step / numpy.maximum(aux[0], 1e-30))
        return v

    def riemann(q_l, q_r, aux_l, aux_r, data):
        jump = flux(q_r, aux_r, data) - flux(q_l, aux_l, data)
        speed = numpy.maximum(fastest(q_l, aux_l, data), fastest(q_r, aux_r, data))
        secant = numpy.abs(jump) / (numpy.maximum(numpy.maximum(aux_l[0], aux_r[0]), 1e-30) * numpy.maximum(numpy.abs(q_r - q_l), 1e-12))
        speed[0] = numpy.maximum(speed[0], numpy.where(numpy.abs(q_r[0] - q_l[0]) > 1e-4, secant[0], 0))
        speed = numpy.maximum(speed, 1e-12) * numpy.maximum(aux_l[0], aux_r[0])
        spread = speed * (q_r - q_l)
        # Two waves a kind; nothing enters or leaves through an end, which is closed.
        down, up = 0.5 * (jump + spread), 0.5 * (jump - spread)
        top, end = aux_l[2] == 0, aux_r[2] == 0
        down, up = numpy.where(top, jump, numpy.where(end, 0, down)), numpy.where(end, jump, numpy.where(top, 0, up))
        n = q_l.shape[1]
        waves, speeds = numpy.zeros((kinds, 2 * kinds, n)), numpy.zeros((2 * kinds, n))
        for k in range(kinds):
            waves[k, 2 * k], waves[k, 2 * k + 1] = up[k], down[k]
            speeds[2 * k], speeds[2 * k + 1] = -speed[k], speed[k]
        return waves, speeds, up, down

    solver = pyclaw.ClawSolver1D(riemann)
    solver.kernel_language = "Python"
    solver.num_eqn, solver.num_waves, solver.fwave, solver.order = kinds, 2 * kinds, True, 2
    solver.limiters = pyclaw.limiters.tvd.MC
    solver.bc_lower[0] = solver.bc_upper[0] = pyclaw.BC.extrap

    def closed(cells, neighbour):
        def fill(state, dim, t, qbc, auxbc, num_ghost):
            auxbc[:, cells] = auxbc[:, neighbour]
            auxbc[2, cells] = 0.0
        return fill

    solver.aux_bc_lower[0] = solver.aux_bc_upper[0] = pyclaw.BC.custom
    solver.user_aux_bc_lower = closed(slice(None, 2), slice(2, 3))
    solver.user_aux_bc_upper = closed(slice(-2, None), slice(-3, -2))
    solver.cfl_desired, solver.cfl_max, solver.dt_max, solver.dt_initial, solver.max_steps = 0.8, 1.0, 1.0, 0.05, 10**6

    def before(solver, state):
        t = state.t + 0.5 * solver.dt
        state.problem_data["omega"], state.problem_data["t"] = problem.omega(t), t
    solver.before_step = before

    faces, mean = problem.grid(cells)
    domain = pyclaw.Domain(pyclaw.Dimension(faces[0], faces[-1], cells, name="r"))
    state = pyclaw.State(domain, kinds, 3)
    state.aux[0], state.aux[1], state.aux[2] = mean, 0.5 * (faces[1:] + faces[:-1]), 1.0
    state.index_capa = 0
    state.q[:] = problem.filled[:, None]
    state.problem_data.update(omega=0.0, t=0.0)
    solution = pyclaw.Solution(state, domain)
    solver.setup(solution)
    found = []
    for time in times:
        solver.evolve_to_time(solution, time)
        found.append(problem.seen(state.q.copy()))
    return found


def limited(phi):
    """Monotonised central slopes; none at the ends."""
    up, down = phi[:, 1:-1] - phi[:, :-2], phi[:, 2:] - phi[:, 1:-1]
    slope = numpy.sign(up) * numpy.minimum(numpy.abs(up + down) / 2, 2 * numpy.minimum(numpy.abs(up), numpy.abs(down)))
    return numpy.pad(numpy.where(up * down > 0, slope, 0), ((0, 0), (1, 1)))


def lines(problem, cells, times, rtol, atol=1e-9, upstream=False):
    """Profiles at times, by LSODA on limited slopes, each kind taken from where its slip comes from; banded Jacobian.

    `upstream` plants an error in space: what sinks is slowed by what it comes from.
    """
    kinds = len(problem.filled)
    faces, mean = problem.grid(cells)
    inner, length = faces[1:-1], faces[1] - faces[0]
    area = numpy.vectorize(problem.area_at)(problem.bottom - inner)

    def rate(t, y):
        phi = y.reshape(cells, kinds).T
        slope = limited(phi)
        left, right = phi[:, :-1] + slope[:, :-1] / 2, phi[:, 1:] - slope[:, 1:] / 2
        omega = problem.omega(t)
        # What sinks is slowed by what it goes into, what rises likewise.
        into, out_of = (left, right) if upstream else (right, left)
        slip = numpy.maximum(problem.slips(into, inner, omega, t), 0) + numpy.minimum(problem.slips(out_of, inner, omega, t), 0)
        v = slip - (slip * left).sum(axis=0)
        flux = area * (numpy.maximum(v, 0) * left + numpy.minimum(v, 0) * right)
        flux = numpy.pad(flux, ((0, 0), (1, 1)))
        return ((flux[:, :-1] - flux[:, 1:]) / (mean * length)).T.ravel()

    start = numpy.tile(problem.filled, cells)
    y, found, now = start, [], 0.0
    # Stretch by stretch: where the speed has a corner, steps begin anew.
    corners = numpy.cumsum([time for time, _, _ in problem.course])
    for time in times:
        for to in [*[c for c in corners if now < c < time], time]:
            done = solve_ivp(rate, (now, to), y, method="LSODA", rtol=rtol, atol=atol, lband=2 * kinds + kinds - 1, uband=2 * kinds + kinds - 1)
            assert done.success, done.message
            y, now = done.y[:, -1], to
        found.append(problem.seen(y.reshape(cells, kinds).T))
    return found
