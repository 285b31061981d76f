#!/usr/bin/env python3
"""Makes tub_endpoints.json: where the reference library says that a tub's water ends.

    python tub_endpoints.py > tub_endpoints.json      (needs phreeqpython 1.6.2)

Two sets, from IPhreeqc with phreeqc.dat as shipped with phreeqpython:
  co2      waters left open to air of a fixed carbon dioxide pressure (EQUILIBRIUM_PHASES): pH and dissolved inorganic carbon
           in balance, at several alkalinities and temperatures, with and without borate
  calcite  a supersaturated water beside a fixed area of calcite, at constant carbon otherwise: calcium lost by the rate law
           of the database's own RATES block (Plummer, Wigley & Parkhurst 1978), integrated by the library itself
Concentrations in mol per kg of water, alkalinity in eq per kg.
"""
import json

from tub_phreeqc import EDITION, engine, sig

CALCITE_CM2 = 500.0  # per kg of water, kept constant: exponent 0 of M/M0
MOL = 1.0  # calcite at the start: the area is PARM(1) * M0


def last(ip, text):
    ip.run_string(text)
    table = ip.get_selected_output_array()
    return dict(zip(table[0], table[-1]))


PUNCH = """SELECTED_OUTPUT 1
 -reset false
 -high_precision true
USER_PUNCH 1
 -headings pH dic ca si lg_pco2
 -start
 10 PUNCH -LA("H+"), TOT("C(4)"), TOT("Ca"), SI("Calcite"), SI("CO2(g)")
 -end
"""


def water(t_c, alkalinity, ph, calcium=1.5e-3, boron=0.0, sodium_chloride=0.0):
    """Chloride closes the charge as the strong ions have it: Na + 2 Ca - Cl = alkalinity."""
    sodium = sodium_chloride + alkalinity
    chloride = sodium_chloride + 2 * calcium
    totals = {"Ca": calcium, "Na": sodium, "Cl": chloride}
    if boron:
        totals["B"] = boron
    lines = "".join(" %s %.12g\n" % (k, v) for k, v in totals.items() if v > 0)
    return totals, ("SOLUTION 1\n -temp %g\n -units mol/kgw\n -water 1\n pe 8\n pH %g\n Alkalinity %.12g\n%s"
                    % (t_c, ph, alkalinity, lines))


def main():
    ip = engine()
    co2 = []
    for t_c in (10, 25, 38, 40):
        for mg_l in (40, 60, 80, 120, 150):
            for log_p, boron, salt in ((-3.37, 0.0, 0.0), (-3.0, 0.0, 0.05), (-3.37, 2e-3, 0.02)):
                alkalinity = mg_l / 50043.5
                totals, text = water(t_c, alkalinity, 7.2, 5e-4, boron, salt)
                start = last(ip, PUNCH + text + "END\n")
                end = last(ip, PUNCH + text + "EQUILIBRIUM_PHASES 1\n CO2(g) %g 10\nEND\n" % log_p)
                co2.append({"t_c": t_c, "alkalinity_eq_per_kgw": sig(alkalinity), "mol_per_kgw":
                            {k: sig(v) for k, v in totals.items()}, "start_pH": 7.2, "start_dic": sig(start["dic"]),
                            "log10_pco2_atm": log_p, "end_pH": round(end["pH"], 6), "end_dic": sig(end["dic"])})
    calcite = []
    for t_c in (15, 25, 38):
        for ph in (7.8, 8.2, 8.6):
            totals, text = water(t_c, 0.003, ph, 3e-3)
            start = last(ip, PUNCH + text + "END\n")
            for hours in (0.1, 1):
                end = last(ip, PUNCH + text + """KINETICS 1
 Calcite
 -m0 %g
 -m %g
 -parms %g 0
 -tol 1e-12
 -steps %g
INCREMENTAL_REACTIONS false
END
""" % (MOL, MOL, CALCITE_CM2, hours * 3600))
                calcite.append({"t_c": t_c, "start_pH": ph, "alkalinity_eq_per_kgw": 0.003, "mol_per_kgw":
                                {k: sig(v) for k, v in totals.items()}, "area_m2_per_kgw": CALCITE_CM2 / 1e4,
                                "hours": hours, "start_si": round(start["si"], 6), "start_ca": sig(start["ca"]),
                                "end_ca": sig(end["ca"]), "end_si": round(end["si"], 6), "end_pH": round(end["pH"], 6)})
    print(json.dumps({"made_by": "tub_endpoints.py", "edition": EDITION, "co2": co2, "calcite": calcite}, indent=1))


if __name__ == "__main__":
    main()
