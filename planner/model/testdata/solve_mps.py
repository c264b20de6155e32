"""Reads a free-format MPS file on its own and prints the optimum that SciPy's HiGHS finds.

Covers what the project writes: one pair per line, set names present, bounds with explicit defaults.
"""
import sys

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

INF = float("inf")


def read(path):
    section, sense, rows, kinds, obj = "", 1.0, {}, [], None
    cols, cost, entries, whole, inside = {}, [], [], [], False
    rhs, ranges, lower, upper, constant = {}, {}, [], [], 0.0
    for line in open(path):
        words = line.split()
        if not words or line[0] == "*":
            continue
        if line[0] != " ":
            section = words[0]
            continue
        if section == "OBJSENSE":
            sense = -1.0 if words[0] == "MAX" else 1.0
        elif section == "ROWS":
            if words[0] == "N":
                obj = words[1]
            else:
                rows[words[1]] = len(kinds)
                kinds.append(words[0])
        elif section == "COLUMNS":
            if words[1] == "'MARKER'":
                inside = words[2] == "'INTORG'"
                continue
            if words[0] not in cols:
                cols[words[0]] = len(cost)
                cost.append(0.0)
                whole.append(inside)
                lower.append(0.0)
                upper.append(INF)
            j = cols[words[0]]
            if words[1] == obj:
                cost[j] = float(words[2])
            else:
                entries.append((rows[words[1]], j, float(words[2])))
        elif section == "RHS":
            if words[1] == obj:
                constant = -float(words[2])
            else:
                rhs[rows[words[1]]] = float(words[2])
        elif section == "RANGES":
            ranges[rows[words[1]]] = float(words[2])
        elif section == "BOUNDS":
            j = cols[words[2]]
            v = float(words[3]) if len(words) > 3 else 0.0
            if words[0] in ("FX", "LO"):
                lower[j] = v
            if words[0] in ("FX", "UP"):
                upper[j] = v
            if words[0] in ("FR", "MI"):
                lower[j] = -INF
    low, high = [], []
    for i, kind in enumerate(kinds):
        b, r = rhs.get(i, 0.0), ranges.get(i)
        far = INF if r is None else abs(r)
        low.append(b if kind != "L" else b - far)
        high.append(b if kind != "G" else b + far)
    return sense, cost, constant, entries, low, high, lower, upper, whole


sense, cost, constant, entries, low, high, lower, upper, whole = read(sys.argv[1])
matrix = np.zeros((len(low), len(cost)))
for i, j, v in entries:
    matrix[i, j] = v
constraints = LinearConstraint(matrix, low, high) if low else None
answer = milp(sense * np.array(cost), constraints=constraints, bounds=Bounds(lower, upper),
              integrality=np.array(whole, dtype=int), options={"mip_rel_gap": 1e-9})
if answer.status == 0:
    print(repr(sense * answer.fun + constant))
else:
    print(answer.message)
