#!/usr/bin/env python3
"""Solve predicted waters again with PHREEQC (phreeqc.dat plus hypochlorite and cyanurate, see tub_phreeqc.py).

    python recheck_plans.py waters.jsonl > rechecked.jsonl

Input, one JSON object per line: "id", "temperature_c", and totals in mol per kg of water, either at the top level or
inside "totals": dic, alkalinity_eq, ca, mg, na, k, cl, so4, b, cyanurate, free_chlorine; optional li, br, nh4, hso5.
alkalinity_eq is the full charge-balance alkalinity. Output per line: id, ph, si_calcite, ionic_strength, and
charge_gap_eq = strong-ion difference minus alkalinity_eq (0 when the totals are electroneutral).
"""
import json
import sys

import tub_phreeqc as tp

NAMES = {"ca": "Ca", "mg": "Mg", "na": "Na", "k": "K", "cl": "Cl", "so4": "SO4", "b": "B", "cyanurate": "cyanurate",
         "free_chlorine": "free_chlorine", "li": "Li", "br": "Br", "nh4": "NH4", "hso5": "HSO5"}
REQUIRED = ["dic", "alkalinity_eq", "ca", "mg", "na", "k", "cl", "so4", "b", "cyanurate", "free_chlorine"]


def recheck(ip, water):
    given = dict(water, **water.get("totals", {}))
    missing = [k for k in REQUIRED + ["temperature_c"] if k not in given]
    if missing:
        raise ValueError("missing field(s) %s" % ", ".join(missing))
    totals = {long: float(given[short]) for short, long in NAMES.items() if given.get(short)}
    r = tp.solve(ip, float(given["temperature_c"]), totals, float(given["alkalinity_eq"]), dic=float(given["dic"]))
    if abs(r["alk"] - float(given["alkalinity_eq"])) > 1e-8:
        raise ValueError("PHREEQC could not hold alkalinity %g eq/kgw" % given["alkalinity_eq"])
    return {"id": water.get("id"), "ph": round(r["pH"], 6),
            "si_calcite": round(r["si_calcite"], 6) if r["si_calcite"] > -90 else None,
            "ionic_strength": tp.sig(r["mu"]),
            "charge_gap_eq": tp.sig(tp.strong_ion_difference(totals) - float(given["alkalinity_eq"]), 3)}


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    ip, failed = tp.engine(), 0
    with open(sys.argv[1]) as f:
        for number, line in enumerate(f, 1):
            if not line.strip():
                continue
            try:
                print(json.dumps(recheck(ip, json.loads(line))))
            except Exception as e:  # one bad line must not hide the others
                failed += 1
                print("line %d: %s" % (number, e), file=sys.stderr)
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()
