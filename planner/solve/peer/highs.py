"""Solves a free-format MPS file, as the project writes it, with SciPy's HiGHS and prints one JSON line.

Usage: highs.py MODEL.mps RELAX SECONDS GAP, with RELAX 0 or 1, SECONDS 0 for no limit.
"""
import json
import sys
import time

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_matrix

INF = float("inf")


class Model:
    def __init__(self, path):
        self.sense, self.constant, self.objective = 1.0, 0.0, None
        self.row_at, self.kinds, self.col_at = {}, [], {}
        self.cost, self.lower, self.upper, self.whole = [], [], [], []
        self.row, self.col, self.value = [], [], []
        self.side, self.range, self.inside = {}, {}, False
        read = {"OBJSENSE": self.sense_line, "ROWS": self.row_line, "COLUMNS": self.column_line,
                "RHS": self.side_line, "RANGES": self.range_line, "BOUNDS": self.bound_line}
        section = ""
        for line in open(path):
            if line[0] == "*" or not line.strip():
                continue
            if line[0] != " ":
                section = line.split()[0]
            else:
                read[section](line.split())

    def sense_line(self, words):
        self.sense = -1.0 if words[0].startswith("MAX") else 1.0

    def row_line(self, words):
        if words[0] == "N":
            self.objective = words[1]
        else:
            self.row_at[words[1]] = len(self.kinds)
            self.kinds.append(words[0])

    def column_line(self, words):
        if words[1] == "'MARKER'":
            self.inside = words[2] == "'INTORG'"
            return
        if words[0] not in self.col_at:
            self.col_at[words[0]] = len(self.cost)
            self.cost.append(0.0)
            self.whole.append(self.inside)
            self.lower.append(0.0)
            self.upper.append(INF)
        j = self.col_at[words[0]]
        for name, value in zip(words[1::2], words[2::2]):
            if name == self.objective:
                self.cost[j] = float(value)
            else:
                self.row.append(self.row_at[name])
                self.col.append(j)
                self.value.append(float(value))

    def side_line(self, words):
        for name, value in zip(words[1::2], words[2::2]):
            if name == self.objective:
                self.constant = -float(value)
            else:
                self.side[self.row_at[name]] = float(value)

    def range_line(self, words):
        for name, value in zip(words[1::2], words[2::2]):
            self.range[self.row_at[name]] = float(value)

    def bound_line(self, words):
        j, v = self.col_at[words[2]], float(words[3]) if len(words) > 3 else 0.0
        if words[0] in ("FX", "LO"):
            self.lower[j] = v
        if words[0] in ("FX", "UP"):
            self.upper[j] = v
        if words[0] in ("FR", "MI"):
            self.lower[j] = -INF

    def sides(self):
        low, high = [], []
        for i, kind in enumerate(self.kinds):
            b, r = self.side.get(i, 0.0), self.range.get(i)
            below = {"L": INF if r is None else abs(r), "G": 0.0, "E": max(0.0, -(r or 0.0))}[kind]
            above = {"G": INF if r is None else abs(r), "L": 0.0, "E": max(0.0, r or 0.0)}[kind]
            low.append(b - below)
            high.append(b + above)
        return low, high


def main(path, relax, seconds, gap):
    m = Model(path)
    matrix = csr_matrix((m.value, (m.row, m.col)), shape=(len(m.kinds), len(m.cost)))
    constraints = LinearConstraint(matrix, *m.sides()) if m.kinds else None
    options = {"mip_rel_gap": float(gap)}
    if float(seconds) > 0:
        options["time_limit"] = float(seconds)
    whole = np.zeros(len(m.cost)) if relax == "1" else np.array(m.whole, dtype=int)
    began = time.time()
    answer = milp(m.sense * np.array(m.cost), constraints=constraints, bounds=Bounds(m.lower, m.upper), integrality=whole, options=options)
    out = {"message": answer.message, "optimal": answer.status == 0, "seconds": time.time() - began}
    if answer.x is not None:
        out["objective"] = m.sense * float(answer.fun) + m.constant
        bound = getattr(answer, "mip_dual_bound", None)
        if answer.status == 0 and not any(whole):
            bound = answer.fun
        if bound is not None and abs(bound) < INF:
            out["bound"] = m.sense * float(bound) + m.constant
    print(json.dumps(out))


main(*sys.argv[1:])
