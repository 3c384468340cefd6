#!/usr/bin/env python3
"""The least J that any response can have, by a general optimiser.

    python3 testdata/reference/optimal_bound.py > testdata/reference/optimal_bound.json

Needs numpy and scipy (numpy 1.24.2 and SciPy 1.10.1 were used). Of n cells of
the command with the demand p, those hand slopes g are sought that make
sum(p/g^2)/n least, with mean 1, between 1/largest and 1/smallest, and not
rising outward: by sequential quadratic programming (SLSQP) with nothing but these
conditions, from a straight start and from two others. Nothing of the solution's
form is used, so that it is a check on the one that halfstick computes.
"""
import json

import numpy as np
from scipy import optimize

CELLS = 40
y = np.linspace(0, 1, CELLS + 1)


def hump(at, width):
    return np.exp(-((y - at) ** 2) / (2 * width**2))


DEMANDS = {
    "default at a normal deflection of 50 %": hump(0, 0.5 / 1.96),
    "double exponential": np.exp(-y / 0.12),
    "two humps": hump(0.1, 0.08) + 0.7 * hump(0.6, 0.1) + 0.01,
    "a hump off the centre": 0.05 + hump(0.4, 0.1),
    "steps": np.where(y < 0.3, 1.0, np.where(y < 0.7, 0.3, 0.05)),
    "rising": 0.1 + y,
}
LIMITS = [(3, 0.2), (1.4, 0.2), (3, 0.7), (8, 0.05)]


def least(p, largest, smallest):
    start = np.ones(CELLS)
    starts = [start, np.linspace(1 / smallest, 1 / largest, CELLS), np.linspace(1.2, 0.8, CELLS)]
    conditions = [
        {"type": "eq", "fun": lambda g: g.mean() - 1, "jac": lambda g: np.full(CELLS, 1 / CELLS)},
        {"type": "ineq", "fun": lambda g: g[:-1] - g[1:], "jac": lambda g: np.eye(CELLS)[:-1] - np.eye(CELLS)[1:]},
    ]
    found = []
    for g in starts:
        r = optimize.minimize(
            lambda g: (p / g**2).mean(), g, jac=lambda g: -2 * p / g**3 / CELLS, method="SLSQP",
            bounds=[(1 / largest, 1 / smallest)] * CELLS, constraints=conditions,
            options={"maxiter": 2000, "ftol": 1e-14},
        )
        if r.success:
            found.append(r.fun)
    found.sort()
    if len(found) < 2 or found[1] > found[0] * (1 + 1e-6):
        raise SystemExit(f"the starts do not agree: {found}")
    return found[0]


cases = []
for name, density in DEMANDS.items():
    density = density / ((density[:-1] + density[1:]) / 2).mean()
    for largest, smallest in LIMITS:
        j = least((density[:-1] + density[1:]) / 2, largest, smallest)
        cases.append({"demand": name, "largest": largest, "smallest": smallest, "square": j, "density": density.tolist()})
print(json.dumps({
    "about": "Least J/sigma^2 over hand slopes in 40 equal cells of the command, under limits of the slope; density at the cells' ends, a cell's is the mean of its two.",
    "source": "optimal_bound.py: SLSQP of SciPy 1.10.1, three starts that agree to 1e-6",
    "tolerance": 2e-6,
}, indent=1)[:-2] + ',\n "cases": [\n  ' + ",\n  ".join(json.dumps(c) for c in cases) + "\n ]\n}")
