#!/usr/bin/env python3
"""Solves the balance of a placement line with a general solver.

Standard input: the model as JSON (`Model` of bench/src/rivals.rs). Standard output: counts of each
group in each column, the slowest station, the proven bound, all in µs.

    python balance.py --solver constraint --seconds 10 --threads 2 < model.json

`constraint` is the CP-SAT solver of the package ortools, `program` the mixed-integer solver of highspy.
Both get the same model:

    x[g,c]  placements of group g in column c (whole)
    y[p,s]  whether a supply of part p stands at station s
    u[c]    whether column c is used
    w[g,s]  whether group g is at station s, for groups that others must not come before or after
    z       time of the slowest station, to be least

    sum_c x[g,c] = count[g];  x[g,c] <= count[g] y[part(g),station(c)];  x[g,c] <= count[g] u[c]
    sum_p slots[p] y[p,s] <= slots[s];  the same for tray places
    w[a,s] + w[b,r] <= 1 for a that must not come after b and stations r < s;  x[g,c] <= count[g] w[g,station(c)]
    z >= fixed[s] + sum time[g,c] x[g,c] + swap[s] * (heads - 1 if they may alternate, else heads for two and more)
"""

import argparse
import json
import os
import sys
import time

# Libraries print banners on standard output; that is kept for the answer alone.
ANSWERS = os.fdopen(os.dup(1), "w")
os.dup2(2, 1)


def shape(model):
    """Columns of each station, and parts with what they need and who uses them."""
    stations = range(len(model["stations"]))
    columns = {s: [c for c, at in enumerate(model["columns"]) if at == s] for s in stations}
    able = [(g, c) for g, row in enumerate(model["time"]) for c, t in enumerate(row) if t is not None]
    return stations, columns, able


def keep_order(model, able, x, binary, add):
    """Keeps what must not come after what; `binary` makes a variable of 0 or 1, `add` takes a constraint."""
    at = {}
    for g, c in able:
        if any(g in pair for pair in model["pairs"]):
            key = (g, model["columns"][c])
            if key not in at:
                at[key] = binary()
            add(x[g, c] <= model["groups"][g]["count"] * at[key])
    for a, b in model["pairs"]:
        for s in range(len(model["stations"])):
            for r in range(s):
                if (a, s) in at and (b, r) in at:
                    add(at[a, s] + at[b, r] <= 1)


def answer(counts, slowest, bound, proven, seconds):
    print(json.dumps({"counts": counts, "slowest": slowest, "bound": bound, "proven": proven, "seconds": seconds}), file=ANSWERS, flush=True)


def constraint(model, seconds, threads):
    from ortools.sat.python import cp_model

    begun = time.monotonic()
    stations, columns, able = shape(model)
    m = cp_model.CpModel()
    groups = model["groups"]
    x = {(g, c): m.new_int_var(0, groups[g]["count"], "") for g, c in able}
    y, u = {}, {}
    for g, c in able:
        key = (groups[g]["part"], model["columns"][c])
        if key not in y:
            y[key] = m.new_bool_var("")
        if c not in u:
            u[c] = m.new_bool_var("")
        m.add(x[g, c] <= groups[g]["count"] * y[key])
        m.add(x[g, c] <= groups[g]["count"] * u[c])
    for g, group in enumerate(groups):
        m.add(sum(v for (h, _), v in x.items() if h == g) == group["count"])
    needs = {group["part"]: group for group in groups}
    for s in stations:
        for what in ("slots", "places"):
            m.add(sum(needs[p][what] * v for (p, at), v in y.items() if at == s) <= model["stations"][s][what])
    keep_order(model, able, x, lambda: m.new_bool_var(""), m.add)
    most = max(st["fixed"] for st in model["stations"]) + sum(
        group["count"] * max((t for t in model["time"][g] if t is not None), default=0) for g, group in enumerate(groups)
    ) + 10 * max(st["swap"] for st in model["stations"])
    z = m.new_int_var(0, most, "slowest")
    for s in stations:
        st = model["stations"][s]
        work = sum(model["time"][g][c] * x[g, c] for g, c in able if model["columns"][c] == s)
        heads = [u[c] for c in columns[s] if c in u]
        swaps = 0
        if st["swap"] > 0 and len(heads) > 1:
            swaps = m.new_int_var(0, len(heads), "")
            m.add(swaps >= sum(heads) - 1)
            if not st["alternate"]:
                several = m.new_bool_var("")
                m.add(sum(heads) <= 1 + (len(heads) - 1) * several)
                m.add(swaps >= sum(heads) - 1 + several)
        m.add(z >= st["fixed"] + work + st["swap"] * swaps)
    m.minimize(z)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = max(0.1, seconds - (time.monotonic() - begun))
    solver.parameters.num_workers = threads
    status = solver.solve(m)
    taken = time.monotonic() - begun
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        answer([], 0.0, solver.best_objective_bound, False, taken)
        return
    counts = [[solver.value(x[g, c]) if (g, c) in x else 0 for c in range(len(model["columns"]))] for g in range(len(groups))]
    answer(counts, solver.objective_value, solver.best_objective_bound, status == cp_model.OPTIMAL, taken)


def program(model, seconds, threads):
    import highspy

    begun = time.monotonic()
    stations, columns, able = shape(model)
    groups = model["groups"]
    h = highspy.Highs()
    h.setOptionValue("output_flag", False)
    h.setOptionValue("threads", threads)
    h.setOptionValue("mip_rel_gap", 0.0)
    unit = 1000.0  # µs per unit of the objective: coefficients near 1 suit the solver.
    z = h.addVariable(0, highspy.kHighsInf, 1.0)
    x = {(g, c): h.addIntegral(0, groups[g]["count"]) for g, c in able}
    y, u = {}, {}
    for g, c in able:
        key = (groups[g]["part"], model["columns"][c])
        if key not in y:
            y[key] = h.addBinary()
        if c not in u:
            u[c] = h.addBinary()
        h.addConstr(x[g, c] <= groups[g]["count"] * y[key])
        h.addConstr(x[g, c] <= groups[g]["count"] * u[c])
    for g, group in enumerate(groups):
        h.addConstr(h.qsum([x[k] for k in x if k[0] == g]) == group["count"])
    keep_order(model, able, x, h.addBinary, h.addConstr)
    needs = {group["part"]: group for group in groups}
    for s in stations:
        st = model["stations"][s]
        for what in ("slots", "places"):
            used = [needs[p][what] * v for (p, at), v in y.items() if at == s and needs[p][what] > 0]
            if used:
                h.addConstr(h.qsum(used) <= st[what])
        terms = [model["time"][g][c] / unit * x[g, c] for g, c in able if model["columns"][c] == s]
        heads = [u[c] for c in columns[s] if c in u]
        if st["swap"] > 0 and len(heads) > 1:
            swaps = h.addVariable(0, len(heads))
            h.addConstr(swaps - h.qsum(heads) >= -1)
            if not st["alternate"]:
                several = h.addBinary()
                h.addConstr(h.qsum(heads) - (len(heads) - 1) * several <= 1)
                h.addConstr(swaps - h.qsum(heads) - several >= -1)
            terms.append(st["swap"] / unit * swaps)
        terms.append(-1.0 * z)
        h.addConstr(h.qsum(terms) <= -st["fixed"] / unit)
    h.setOptionValue("time_limit", max(0.1, seconds - (time.monotonic() - begun)))
    h.setMinimize()
    h.run()
    taken = time.monotonic() - begun
    info, values = h.getInfo(), h.getSolution().col_value
    proven = h.getModelStatus() == highspy.HighsModelStatus.kOptimal
    bound = info.mip_dual_bound * unit
    feasible = info.primal_solution_status == highspy.kSolutionStatusFeasible
    if not feasible:
        answer([], 0.0, max(bound, 0.0), False, taken)
        return
    counts = [[round(values[x[g, c].index]) if (g, c) in x else 0 for c in range(len(model["columns"]))] for g in range(len(groups))]
    # Recomputed from the rounded counts, so that tolerances of the solver do not speak.
    slowest = 0.0
    for s in stations:
        st = model["stations"][s]
        used = {c for c in columns[s] for g in range(len(groups)) if counts[g][c] > 0}
        swaps = 0 if len(used) < 2 else len(used) - (1 if st["alternate"] else 0)
        work = sum(counts[g][c] * model["time"][g][c] for g, c in able if model["columns"][c] == s)
        slowest = max(slowest, st["fixed"] + work + swaps * st["swap"])
    answer(counts, slowest, bound, proven, taken)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--solver", choices=["constraint", "program"], required=True)
    parser.add_argument("--seconds", type=float, required=True)
    parser.add_argument("--threads", type=int, default=1)
    args = parser.parse_args()
    model = json.load(sys.stdin)
    {"constraint": constraint, "program": program}[args.solver](model, args.seconds, args.threads)


if __name__ == "__main__":
    main()
