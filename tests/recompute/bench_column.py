"""How fast the column of a spin is drawn, against SciPy and Clawpack on the same equations, at equal measured error.

The error is that against SciPy's method of lines on eight times the cells of ours, averaged over cells (which favours
SciPy): the worse of red cells and of platelets counts for each. SciPy's LSODA runs on the same semi-discretisation, with
its banded Jacobian, Clawpack on its own, where the flux is Python (NumPy) too; each is given the grid and the tolerance with which it is quickest among those
with which it is no further off than ours at 100 cells. Times are the least of several runs, of the reckoning alone: ours
by `--time` of the example `spin`, built for speed. `cargo xtask bench` runs this.
"""

import json
import subprocess
import time

import numpy

import column
import recompute
import test_column

CELLS, FINE = 100, 800
NAME = "up, held, down"
LEEWAY = 1.05
"""As far off as ours, to 5 %."""


def off(found, fine, cells):
    """Red cells and platelets at their worst moment; the tube is as wide everywhere."""
    coarse = lambda profile: profile.reshape(cells, -1).mean(axis=1)  # noqa: E731
    apart = lambda a, b: numpy.abs(a - b).sum() / b.sum()  # noqa: E731
    return numpy.max([[apart(f, coarse(w)) for f, w in zip(*at)] for at in zip(found, fine)], axis=0)


def least(call, runs):
    """Answer, and the least time of a processor it took [s], whatever else the machine does."""
    took = []
    for _ in range(runs):
        begun = time.process_time()
        answer = call()
        took.append(time.process_time() - begun)
    return answer, min(took)


def main():
    binary = recompute.binary("spin", "--release")
    problem, times = test_column.PROBLEMS[NAME]
    problem = dict(problem, cells=CELLS)
    assumed, found = test_column.ask(binary, problem, times)
    timed = subprocess.run([binary, "--time"], input=json.dumps(problem), capture_output=True, text=True, check=True)
    ours = json.loads(timed.stdout)["check"]["least_of_20_s"]
    theirs = column.Problem(problem, assumed)
    fine = column.lines(theirs, FINE, times, rtol=1e-6, atol=1e-9)
    most = off(found, fine, CELLS)
    print(f"{'':<44} {'ms':>9} {'red cells':>10} {'platelets':>10}   off by")
    row = lambda what, took, errors: print(f"{what:<44} {1e3 * took:>9.2f} {errors[0]:>10.4f} {errors[1]:>10.4f}", flush=True)  # noqa: E731
    row(f"ours, {CELLS} cells", ours, most)
    ways = {
        "SciPy LSODA": [
            (f"{cells} cells, tolerance {rtol:g}", cells, 3, lambda c=cells, r=rtol: column.lines(theirs, c, times, rtol=r, atol=0.01 * r))
            for cells in (80, 100, 160) for rtol in (1e-2, 1e-3, 1e-4)
        ],
        "Clawpack": [
            (f"{cells} cells", cells, 1, lambda c=cells: column.claw(theirs, c, times)) for cells in (100, 160, 200)
        ],
    }  # fmt: skip
    for solver, tried in ways.items():
        best = None
        for what, cells, runs, call in tried:
            answer, took = least(call, runs)
            errors = off(answer, fine, cells)
            row(f"{solver}, {what}", took, errors)
            if (errors <= LEEWAY * most).all() and (best is None or took < best):
                best = took
        if best is None:
            print(f"{solver}: none of these is as near as ours")
        else:
            print(f"{solver} takes {best / ours:.0f} times as long at equal error (at least 50 aimed at)")


if __name__ == "__main__":
    main()
