#!/usr/bin/env python3
"""Our integration beside SciPy's stiff solvers and SUNDIALS, in one run on one machine: same answer, who is how fast.

    python beside_scipy.py            (needs scipy, scikit-sundae and the Rust toolchain)
    python beside_scipy.py --answer > tub_two_weeks.json     the reference answer alone, for the tests

Runs `cargo bench -p tub --bench integrate` and follows the same two problems with SciPy (BDF, Radau, LSODA) and SUNDIALS' CVODE
(BDF, dense), one thread. The bench prints each problem's definition; the equations are written here a second time, so that an
equal answer says something about both.

  breakpoint  chlorine and ammonia in a beaker at constant pH for an hour, at the breakpoint (6 unknowns, very stiff)
  two weeks   a tub at constant temperature with a bath and a dose of hypochlorite every evening (98 events); its equilibrium
              is solved at every evaluation of the rates. 16 unknowns here; ours carries 29 (the ledger of what left, temperature)

The reference answer is Radau's at a relative tolerance of 1e-11. Every solver, ours too, is run at 1e-6, 3e-7 ... 1e-10 and is timed at the
loosest tolerance at which every quantity of the answer is within 1e-6 of the reference, relative. Best of several rounds each.
Printed: a JSON line for every run, then the table for docs/benchmarks.md.
"""
import json
import math
import os
import platform
import subprocess
import sys
import time

import numpy as np
import scipy
import sksundae
from scipy.integrate import solve_ivp

from breakpoint_cases import LABELS, rates as beaker_rates, setting

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(HERE)
BENCH = ["cargo", "bench", "--quiet", "-p", "tub", "--bench", "integrate"]
TOLERANCES = [1e-6, 3e-7, 1e-7, 3e-8, 1e-8, 3e-9, 1e-9, 3e-10, 1e-10]
WANTED = 1e-6
TRACE = 1e-12  # least free chlorine and ammonia that the equilibrium is asked about, as on our side
POOLS = ["carbon", "calcium", "chloride", "free_chlorine", "ammonia", "monochloramine", "dichloramine", "trichloramine",
         "intermediate", "urea", "organic", "organic_chloramine", "nitrate", "sodium", "headspace", "water"]
AT = {name: i for i, name in enumerate(POOLS)}
SMALLEST = np.array([1e-6, 1e-6, 1e-6] + [1e-8] * 5 + [1e-10] + [1e-8] * 3 + [1e-6, 1e-6, 1e-8, 1e-4])


class Equilibrium:
    """Species from totals, by Newton's method on ln activities, activity coefficients renewed in every sweep."""

    def __init__(self, p):
        self.components = ["Hydrogen", "Carbon", "Calcium", "Sodium", "Chloride", "Oxidant", "Ammonium"]
        self.names = [s["name"] for s in p["species"]]
        self.place = {name: i for i, name in enumerate(self.names)}
        self.n = np.array([[dict(s["made_of"]).get(c, 0) for s in p["species"]] for c in self.components], float)
        for s in p["species"]:
            assert all(c in self.components for c, _ in s["made_of"]), s
        self.ln_k = np.array([s["log_k"] for s in p["species"]]) * math.log(10)
        self.water = np.array([s["water"] for s in p["species"]], float)
        self.z2 = np.array([float(s["charge"])**2 for s in p["species"]])
        self.a, self.b = p["a"], p["b"]
        kind = [s["gamma"] for s in p["species"]]
        self.size = np.array([k[0] if isinstance(k, list) else 1 / self.b for k in kind])
        self.linear = np.array([k[1] if isinstance(k, list) else 0.1 if k == "neutral" else 0.0 for k in kind])
        davies = np.array([k == "davies" for k in kind])
        self.slope = np.where(davies, 0.3 * self.a * self.z2, self.linear)
        self.x = None
        self.guess = math.log(p["start_hydrogen"])

    def solve(self, totals, nitrate):
        """totals in the order of the components, mol/kg; hydrogen's is minus the alkalinity. Nitrate only adds strength."""
        x = self.x
        if x is None:
            x = np.log(np.maximum(np.abs(totals), 1e-12))
            x[0], x[1] = self.guess, math.log(totals[1] * 0.1)
        strength, water = 0.03, 1.0
        m = None
        for _ in range(200):
            root = math.sqrt(strength)
            ln_g = math.log(10) * (-self.a * self.z2 * root / (1 + self.size * self.b * root) + self.slope * strength)
            m = np.exp(self.ln_k + x @ self.n + self.water * math.log(water) - ln_g)
            nm = self.n * m
            off = nm.sum(1) - totals
            step = np.linalg.solve(nm @ self.n.T, -off)
            largest = np.abs(step).max()
            x = x + np.clip(step, -2, 2)
            new_strength, new_water = 0.5 * (self.z2 @ m + nitrate), 1 - 0.017 * (m.sum() + nitrate)
            settled = largest < 1e-11 and abs(new_strength - strength) < 1e-11 * strength
            strength, water = new_strength, new_water
            if settled:
                self.x = x
                return m, ln_g
        raise ArithmeticError("no equilibrium")


class Tub:
    def __init__(self, p):
        self.p = p
        self.eq = Equilibrium(p)
        self.open = self.jets = self.bathers = 0.0

    def start(self):
        self.eq.x = None
        self.open = self.jets = self.bathers = 0.0
        p, y = self.p, np.zeros(len(POOLS))
        for name, per_kg in p["per_kg"].items():
            y[AT[name]] = per_kg * p["water_kg"]
        y[AT["headspace"]], y[AT["water"]] = p["headspace_mol"], p["water_kg"]
        return y

    def solved(self, y):
        w = y[AT["water"]]
        carbon, calcium, chloride, fc, n, nitrate, sodium = (
            y[AT[k]] / w for k in ("carbon", "calcium", "chloride", "free_chlorine", "ammonia", "nitrate", "sodium"))
        alkalinity = sodium + max(n, 0) + 2 * calcium - chloride - max(nitrate, 0)
        asked_fc, asked_n = max(fc, TRACE), max(n, TRACE)
        m, ln_g = self.eq.solve(np.array([-alkalinity, carbon, calcium, sodium, chloride, asked_fc, asked_n]), max(nitrate, 0))
        return m, ln_g, fc / asked_fc, n / asked_n, alkalinity

    def rates(self, t, y):
        p, at = self.p, self.eq.place
        w = y[AT["water"]]
        m, ln_g, of_fc, of_n, _ = self.solved(y)
        activity = lambda name: m[at[name]] * math.exp(ln_g[at[name]])
        hocl, ocl, nh3 = m[at["HOCl"]] * of_fc, m[at["OCl-"]] * of_fc, m[at["NH3"]] * of_n
        mono, di, tri, inter, urea, organic, org_cl = y[5:12] / w
        d = np.zeros(len(POOLS))

        # The chloramines, with the constants of breakpoint_cases.setting but this water's own ions.
        h, oh, hco3, co2, co3 = (activity("H+"), m[at["OH-"]], m[at["HCO3-"]], m[at["CO2"]], m[at["CO3-2"]])
        tk = p["t_c"] + 273.15
        e = lambda a, b: a * math.exp(-b / tk)
        v1, v2 = e(6.6e8, 1510) * hocl * nh3, e(1.38e8, 8800) * mono
        v3, v4 = e(3.0e5, 2010) * hocl * mono, 6.5e-7 * di
        v5 = (e(1.05e7, 2169) * h + e(4.2e31, 22144) * hco3 + e(8.19e6, 4026) * co2) * mono * mono
        v6, v7 = 6.0e4 * h * di * nh3, 1.1e2 * oh * di
        v8, v9, v10 = 2.8e4 * inter * di, 8.3e3 * inter * mono, 1.5e-2 * mono * di
        v11 = (3.28e9 * oh + 6.0e6 * co3 + 9e4 * ocl) * hocl * di
        v12, v13, v14 = 5.56e10 * oh * di * tri, 1.39e9 * oh * mono * tri, 2.31e2 * di * ocl
        d[AT["ammonia"]] = w * (-v1 + v2 + v5 - v6)
        d[AT["free_chlorine"]] = w * (-v1 + v2 - v3 + v4 + v8 - v11 + 2 * v12 + v13 - 2 * v14)
        d[AT["monochloramine"]] = w * (v1 - v2 - v3 + v4 - 2 * v5 + 2 * v6 - v9 - v10 - v13)
        d[AT["dichloramine"]] = w * (v3 - v4 + v5 - v6 - v7 - v8 - v10 - v11 - v12 - v14)
        d[AT["trichloramine"]] = w * (v11 - v12 - v13)
        d[AT["intermediate"]] = w * (v7 - v8 - v9)
        d[AT["chloride"]] = w * (2 * v7 + v8 + v9 + 3 * v10 + 3 * v12 + 3 * v13 + 4 * v14)
        d[AT["nitrate"]] = w * v14

        # Demand: the water's own, urea, organic nitrogen.
        used = p["background_per_day"] / 86400 * y[AT["free_chlorine"]]
        u = p["urea"] * hocl * urea * w
        o1, o2 = p["organic"] * hocl * organic * w, p["organic_chloramine"] * hocl * org_cl * w
        d[AT["free_chlorine"]] -= used + p["chlorine_per_urea"] * u + o1 + o2
        d[AT["chloride"]] += used + p["chlorine_per_urea"] * u + 2 * o2
        d[AT["urea"]] -= u
        d[AT["carbon"]] += u
        d[AT["nitrate"]] += p["nitrate_per_urea"] * u
        d[AT["organic"]] -= o1
        d[AT["organic_chloramine"]] += o1 - o2

        # Carbon dioxide under the cover, and the chloramines' way out.
        still, circulating, jets = p["exchange_per_h"]
        transfer = (still + circulating * p["circulation"] + jets * self.jets) / 3600
        air = p["changes_per_h"][1 if self.open else 0] * p["headspace_m3"] / 3600
        per_atm = p["gas_mol_m3_atm"]
        under = y[AT["headspace"]] / p["headspace_m3"]
        flux = transfer * w * (activity("CO2") - p["henry"] * under / per_atm)
        d[AT["carbon"]] -= flux
        d[AT["headspace"]] += flux - air * (under - per_atm * p["outside_atm"])
        for name, volatility in zip(("monochloramine", "dichloramine", "trichloramine"), p["volatility"]):
            films = transfer / (1 + p["film_ratio"] / volatility)
            d[AT[name]] -= films * air * volatility / (air * volatility + films * w / 1000) * y[AT[name]]

        # Bathers.
        if self.bathers:
            litres = self.bathers * p["sweat_l_h"] / 3600
            brought = [litres * c for c in p["sweat"]]
            d[AT["urea"]] += brought[0]
            d[AT["ammonia"]] += brought[1]
            d[AT["chloride"]] += brought[1]
            d[AT["organic"]] += brought[2]
            splash = self.bathers * p["splash_kg_h"] / 3600
            d[AT["water"]] += litres - splash
            d[:14] -= splash / w * y[:14]
        return d

    def follow(self, advance):
        y, now = self.start(), 0.0
        for at_h, what, value in self.p["events"] + [[24.0 * self.p["days"], "end", 0.0]]:
            if at_h > now:
                y = advance(self.rates, y, (at_h - now) * 3600)
            now = at_h
            if what == "hypochlorite":
                y[AT["sodium"]] += value
                y[AT["free_chlorine"]] += value
            elif what != "end":
                setattr(self, what, value)
        m, ln_g, _, _, alkalinity = self.solved(y)
        w = y[AT["water"]]
        answer = {k: y[AT[k]] / w for k in ("carbon", "chloride", "free_chlorine", "monochloramine", "trichloramine", "urea",
                                            "organic_chloramine", "nitrate")}
        answer["hydrogen"] = m[self.eq.place["H+"]] * math.exp(ln_g[self.eq.place["H+"]])
        answer.update(alkalinity=alkalinity, headspace=y[AT["headspace"]], water_kg=w)
        return {k: float(v) for k, v in answer.items()}


def scipy_advance(method, relative, absolute):
    def advance(rates, y, seconds):
        s = solve_ivp(rates, (0, seconds), y, method, rtol=relative, atol=absolute, t_eval=[seconds])
        if not s.success:
            raise ArithmeticError(s.message)
        return s.y[:, -1].copy()
    return advance


def cvode_advance(relative, absolute):
    from sksundae.cvode import CVODE

    def advance(rates, y, seconds):
        def fill(t, y, yp):
            yp[:] = rates(t, y)
        solver = CVODE(fill, rtol=relative, atol=absolute, method="BDF", linsolver="dense", max_num_steps=100000)
        s = solver.solve(np.array([0.0, seconds]), y)
        if not s.success:
            raise ArithmeticError(s.message)
        return np.array(s.y[-1])
    return advance


def beaker(p):
    k, acid, base = setting(p["t_c"], p["pH"], p["alkalinity"])
    rates = lambda t, y: np.array(beaker_rates(t, y, k, acid, base))
    y0 = np.array([p["ammonia"], p["free_chlorine"], 0, 0, 0, 0])

    def follow(advance):
        return dict(zip(LABELS[:5], map(float, advance(rates, y0, 60 * p["minutes"]))))
    return follow


def apart(answer, reference):
    """Largest relative difference; amounts below a ten-thousandth of a milligram a litre (1e-9 mol/kg) count as that."""
    return max(abs(answer[k] - v) / max(abs(v), 1e-9 if k != "hydrogen" else 0.0) for k, v in reference.items())


def timed(follow, advance, rounds):
    best, answer = math.inf, None
    for _ in range(rounds):
        begin = time.perf_counter()
        answer = follow(advance)
        best = min(best, time.perf_counter() - begin)
    return best, answer


def peers(follow, absolute, rounds, reference):
    """For every solver the loosest tolerance with the wanted answer: (name, relative, apart, seconds)."""
    solvers = [("SciPy " + m, lambda r, m=m: scipy_advance(m, r, absolute * r)) for m in ("BDF", "Radau", "LSODA")]
    solvers.append(("SUNDIALS CVODE", lambda r: cvode_advance(r, absolute * r)))
    for name, make in solvers:
        for relative in TOLERANCES:
            try:
                seconds, answer = timed(follow, make(relative), 1)
            except (ArithmeticError, RuntimeError, ValueError) as e:
                print(json.dumps({"solver": name, "relative": relative, "failed": str(e)}), flush=True)
                continue
            off = apart(answer, reference)
            print(json.dumps({"solver": name, "relative": relative, "apart": off, "seconds": seconds}), flush=True)
            if off < WANTED:
                seconds = min(seconds, timed(follow, make(relative), rounds)[0])
                yield name, relative, off, seconds
                break
        else:
            yield name, None, None, None


def main():
    bench = subprocess.run(BENCH, cwd=ROOT, check=True, stdout=subprocess.PIPE, text=True).stdout
    lines = [json.loads(line) for line in bench.splitlines() if line.startswith("{")]
    definitions = {d["problem"]: d for d in lines if "problem" in d}
    if sys.argv[1:] == ["--answer"]:
        answer = Tub(definitions["two weeks"]).follow(cvode_advance(1e-10, SMALLEST / 1e-6 * 1e-10))
        print(json.dumps({"made_by": "beside_scipy.py --answer (SUNDIALS CVODE, 1e-10)", "answer": answer}, indent=1))
        return
    cases = [("breakpoint", beaker(definitions["breakpoint"]), np.full(6, 1e-6), 5, 1e-17),
             ("two weeks", Tub(definitions["two weeks"]).follow, SMALLEST / 1e-6, 2, None)]
    table = []
    for problem, follow, absolute, rounds, least in cases:
        reference = follow(scipy_advance("Radau", 1e-11, absolute * 1e-11 if least is None else least))
        print(json.dumps({"problem": problem, "reference": reference}), flush=True)
        ours = None
        for line in (x for x in lines if x.get("answer_to") == problem):
            off = apart(line["answer"], reference)
            print(json.dumps({"solver": "ours", "relative": line["relative"], "apart": off,
                              "seconds": line["best_seconds"], "steps": line["steps"]}), flush=True)
            if off < WANTED and ours is None:
                ours = line["relative"], off, line["best_seconds"]
        if ours is None:
            sys.exit(f"{problem}: our answer is not within {WANTED} of the reference at any tolerance")
        table.append((problem, "ours", *ours, 1.0))
        for name, relative, off, seconds in peers(follow, absolute, rounds, reference):
            table.append((problem, name, relative, off, seconds, seconds and seconds / ours[2]))
    rust = subprocess.run(["rustc", "--version"], cwd=ROOT, check=True, stdout=subprocess.PIPE, text=True).stdout.strip()
    print(f"\nMachine: {os.cpu_count()} cores, {platform.system()}, {rust}, Python {platform.python_version()}, "
          f"SciPy {scipy.__version__}, scikit-sundae {sksundae.__version__}.\n")
    print("| problem | solver | relative tolerance | farthest from the reference | time | times ours |")
    print("|---|---|---|---|---|---|")
    for problem, name, relative, off, seconds, ratio in table:
        if seconds is None:
            print(f"| {problem} | {name} | none reached 1e-6 | | | |")
        else:
            print(f"| {problem} | {name} | {relative:g} | {off:.1e} | {1000 * seconds:.3g} ms | {ratio:.3g} |")


if __name__ == "__main__":
    main()
