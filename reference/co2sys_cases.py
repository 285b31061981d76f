#!/usr/bin/env python3
"""Regenerate co2sys_cases.json: pH and carbonate species from (alkalinity, DIC) with PyCO2SYS.

PyCO2SYS is a seawater program; it is used here only as an independent solver of the carbonate (and borate) equations.
Salinity 0, no fluoride, sulfate, phosphate or silicate, so every pH scale is the free scale, pH_free = -log10 [H+].
K1, K2, Kw and KB are set by hand: the thermodynamic constants of phreeqc.dat turned into concentration constants with
the activity coefficients and the activity of water PHREEQC has in the same water. The waters hold only K+, Cl- and
boric acid besides carbonate, because phreeqc.dat has no ion pair of K+ with Cl-, HCO3- or CO3-- (nor of Na, Ca, Mg
needed here), so a full speciation must give the same answer: pH = pH_free - log10 gamma(H+).
The constants are PHREEQC's own, so this checks the solving of the equations, not the constants.
The dimer (CO2)2 of phreeqc.dat is not in PyCO2SYS; the difference it makes is part of the 1e-5 pH seen.
"""
import json
import os
import random

import PyCO2SYS as pyco2

import tub_phreeqc as tp

HERE = os.path.dirname(os.path.abspath(__file__))


def constants(r, boron):
    """Concentration constants from PHREEQC's activities and molalities of one solved water."""
    m = {s: r["m_" + s] for s in ("H+", "OH-", "CO2", "HCO3-", "CO3-2", "H3BO3", "H2BO3-")}
    k = {"k_carbonic_1": m["H+"] * m["HCO3-"] / m["CO2"], "k_carbonic_2": m["H+"] * m["CO3-2"] / m["HCO3-"],
         "k_water": m["H+"] * m["OH-"]}
    if boron:
        k["k_borate"] = m["H+"] * m["H2BO3-"] / m["H3BO3"]
    return k


def main():
    rng, ip, cases = random.Random(3), tp.engine(), []
    for n in range(20):
        t_c = [5, 15, 25, 38][n % 4]
        alk = tp.sig(rng.uniform(0.0004, 0.004), 6)
        cl = tp.sig(rng.choice([rng.uniform(0.0005, 0.01), rng.uniform(0.01, 0.08)]), 6)
        boron = tp.sig(rng.uniform(0.0005, 0.004), 6) if n % 3 == 2 else 0.0
        dic = tp.sig(alk * rng.uniform(0.92, 1.15) * (0.8 if boron else 1.0), 6)
        totals = {"K": tp.sig(cl + alk, 10), "Cl": cl, "B": boron}
        r = tp.solve(ip, t_c, totals, alk, dic=dic)
        k = constants(r, boron)
        out = pyco2.sys(par1=alk * 1e6, par2=dic * 1e6, par1_type=1, par2_type=2, salinity=0, temperature=t_c,
                        total_borate=boron * 1e6, total_sulfate=0, total_fluoride=0, total_phosphate=0,
                        total_silicate=0, opt_pH_scale=3, opt_buffers_mode=0, **k)
        free = float(out["pH_free"])
        cases.append({
            "id": "c%02d" % (n + 1), "t_c": t_c, "mol_per_kgw": {a: v for a, v in totals.items() if v > 0},
            "alkalinity_eq_per_kgw": alk, "dic_mol_per_kgw": dic,
            "constants_set": {a: tp.sig(v) for a, v in k.items()},
            "log10_gamma_h": round(r["lg_H+"], 6), "pH_free": round(free, 6), "pH": round(free - r["lg_H+"], 6),
            "co2_mol_per_kgw": tp.sig(float(out["aqueous_CO2"]) * 1e-6),
            "hco3_mol_per_kgw": tp.sig(float(out["bicarbonate"]) * 1e-6),
            "co3_mol_per_kgw": tp.sig(float(out["carbonate"]) * 1e-6),
            "phreeqc_pH": round(r["pH"], 6)})
    worst = max(abs(c["pH"] - c["phreeqc_pH"]) for c in cases)
    with open(os.path.join(HERE, "co2sys_cases.json"), "w") as f:
        head = {"about": "PyCO2SYS as an independent carbonate solver; what was set is told in co2sys_cases.py",
                "engine": "PyCO2SYS " + pyco2.__version__ + "; constants from " + tp.EDITION, "seed": 3,
                "largest_ph_difference_from_phreeqc": tp.sig(worst, 3), "count": len(cases)}
        f.write(json.dumps(head, indent=1)[:-2] + ',\n "cases": [\n')
        f.write(",\n".join(json.dumps(c, separators=(",", ":")) for c in cases) + "\n ]\n}\n")
    print(len(cases), "cases, largest pH difference from PHREEQC", worst)


if __name__ == "__main__":
    main()
