#!/usr/bin/env python3
"""Regenerate phreeqc_extended.json, phreeqc_dose_table.json and conductivity_25c.json with PHREEQC.

    python extend_phreeqc.py        # writes the three files beside this script

Waters (seeded): 60 without chlorine or cyanurate (the kinds of generate_phreeqc_cases.py, boron in a third),
54 with free chlorine 0-50 mg/L as Cl2 and cyanurate 0-300 mg/L, 6 with ammonium and bromide.
Each water is solved from (pH, alkalinity), then again from (DIC, alkalinity), then after one or two doses.
A dose changes the totals only (closed system, table DOSES); PHREEQC then finds pH from the new (DIC, alkalinity).
Crystal water of a dose is not counted as added water. Amounts are mmol per kg of water.
"""
import json
import os
import random

import tub_phreeqc as tp
from generate_phreeqc_cases import CACO3_EQ, make_water

HERE = os.path.dirname(os.path.abspath(__file__))
MM = {"Ca": 40.078, "Mg": 24.305, "Na": 22.98977, "K": 39.0983, "Cl": 35.453, "SO4": 96.06, "B": 10.81,
      "free_chlorine_as_Cl2": 70.906, "cyanurate_as_H3Cy": 129.074, "N": 14.007, "Br": 79.904}

# name: (formula, g/mol, totals per mole of formula, alkalinity eq/mol, DIC mol/mol)
DOSES = {
    "sodium_bisulfate": ("NaHSO4", 120.06, {"Na": 1, "SO4": 1}, -1, 0),
    "hydrochloric_acid": ("HCl", 36.461, {"Cl": 1}, -1, 0),
    "sulfuric_acid": ("H2SO4", 98.078, {"SO4": 1}, -2, 0),
    "sodium_carbonate": ("Na2CO3", 105.99, {"Na": 2}, 2, 1),
    "sodium_bicarbonate": ("NaHCO3", 84.007, {"Na": 1}, 1, 1),
    "sodium_sesquicarbonate_dihydrate": ("Na3H(CO3)2.2H2O", 226.03, {"Na": 3}, 3, 2),
    "sodium_hydroxide": ("NaOH", 39.997, {"Na": 1}, 1, 0),
    "borax_decahydrate": ("Na2B4O7.10H2O", 381.37, {"Na": 2, "B": 4}, 2, 0),
    "borax_pentahydrate": ("Na2B4O7.5H2O", 291.29, {"Na": 2, "B": 4}, 2, 0),
    "boric_acid": ("B(OH)3", 61.83, {"B": 1}, 0, 0),
    "calcium_chloride": ("CaCl2", 110.98, {"Ca": 1, "Cl": 2}, 0, 0),
    "calcium_chloride_dihydrate": ("CaCl2.2H2O", 147.01, {"Ca": 1, "Cl": 2}, 0, 0),
    "magnesium_chloride_hexahydrate": ("MgCl2.6H2O", 203.30, {"Mg": 1, "Cl": 2}, 0, 0),
    "sodium_chloride": ("NaCl", 58.443, {"Na": 1, "Cl": 1}, 0, 0),
    "potassium_chloride": ("KCl", 74.551, {"K": 1, "Cl": 1}, 0, 0),
    "sodium_sulfate": ("Na2SO4", 142.04, {"Na": 2, "SO4": 1}, 0, 0),
    "magnesium_sulfate_heptahydrate": ("MgSO4.7H2O", 246.47, {"Mg": 1, "SO4": 1}, 0, 0),
    "sodium_hypochlorite": ("NaOCl", 74.442, {"Na": 1, "free_chlorine": 1}, 1, 0),
    "calcium_hypochlorite": ("Ca(OCl)2", 142.98, {"Ca": 1, "free_chlorine": 2}, 2, 0),
    "lithium_hypochlorite": ("LiOCl", 58.39, {"Li": 1, "free_chlorine": 1}, 1, 0),
    "dichlor": ("NaCl2C3N3O3", 219.95, {"Na": 1, "free_chlorine": 2, "cyanurate": 1}, 1, 0),
    "dichlor_dihydrate": ("NaCl2C3N3O3.2H2O", 255.98, {"Na": 1, "free_chlorine": 2, "cyanurate": 1}, 1, 0),
    "trichlor": ("Cl3C3N3O3", 232.41, {"free_chlorine": 3, "cyanurate": 1}, 0, 0),
    "cyanuric_acid": ("H3C3N3O3", 129.07, {"cyanurate": 1}, 0, 0),
    "carbon_dioxide": ("CO2", 44.010, {}, 0, 1),
    "peroxymonosulfate_unreacted": ("2KHSO5.KHSO4.K2SO4", 614.7, {"K": 5, "HSO5": 2, "SO4": 2}, -1, 0),
    "peroxymonosulfate_reduced": ("2KHSO5.KHSO4.K2SO4", 614.7, {"K": 5, "SO4": 4}, -3, 0),
}
# largest random dose, mmol per kg water (lower bound is a tenth of it)
LARGEST_MMOL = {
    "sodium_bisulfate": 0.9, "hydrochloric_acid": 0.9, "sodium_carbonate": 0.5, "sodium_bicarbonate": 2.0,
    "sodium_sesquicarbonate_dihydrate": 0.4, "sodium_hydroxide": 0.5, "borax_decahydrate": 1.2, "boric_acid": 5.0,
    "calcium_chloride": 2.0, "magnesium_chloride_hexahydrate": 3.0, "sodium_chloride": 50.0,
    "potassium_chloride": 10.0, "sodium_sulfate": 5.0, "magnesium_sulfate_heptahydrate": 3.0,
    "sodium_hypochlorite": 0.3, "calcium_hypochlorite": 0.15, "dichlor": 0.15, "trichlor": 0.1,
    "cyanuric_acid": 0.5, "carbon_dioxide": 0.4}


def apply_dose(totals, alk, dic, name, mol):
    _, _, ions, alk_per_mol, dic_per_mol = DOSES[name]
    after = dict(totals)
    for element, n in ions.items():
        after[element] = after.get(element, 0.0) + n * mol
    return after, alk + alk_per_mol * mol, dic + dic_per_mol * mol


def tub_water(rng, group):
    """One random charge-balanced water: totals mol/kgw, alkalinity = strong-ion difference."""
    w = make_water(rng)
    totals = {k: v for k, v in w["m"].items() if v > 0}
    t_c = round(rng.uniform(5, 45), 1) if rng.random() < 0.5 else round(rng.uniform(33, 41), 1)
    ph = round(rng.uniform(6.6, 8.4), 2) if group == "plain" else round(rng.uniform(6.0, 9.0), 2)
    extra_alk_mg = 0.0
    if rng.random() < 1 / 3:
        b = rng.uniform(2, 60)
        totals["B"] = tp.sig(b / MM["B"] / 1000, 10)
        extra_alk_mg += b * 4.63 / (1 + 10 ** (9.15 - ph))
    if group == "chlorine_cyanurate":
        fc = 0.0 if rng.random() < 0.1 else rng.choice([rng.uniform(0.2, 10), rng.uniform(10, 50)])
        cy = 0.0 if rng.random() < 0.12 else rng.choice([rng.uniform(5, 100), rng.uniform(100, 300)])
        totals["free_chlorine"] = tp.sig(fc / MM["free_chlorine_as_Cl2"] / 1000, 10)
        totals["cyanurate"] = tp.sig(cy / MM["cyanurate_as_H3Cy"] / 1000, 10)
        extra_alk_mg += 0.388 * cy / (1 + 10 ** (6.8 - ph)) + 0.706 * fc / (1 + 10 ** (7.4 - ph))
    if group == "ammonium_bromide":
        totals["NH4"] = tp.sig(rng.uniform(0.2, 5) / MM["N"] / 1000, 10)
        totals["Br"] = tp.sig(rng.uniform(1, 80) / MM["Br"] / 1000, 10)
    # raise sodium so that enough alkalinity is left for carbonate
    totals["Na"] = tp.sig(totals["Na"] + extra_alk_mg / CACO3_EQ / 1000, 10)
    totals = {k: v for k, v in totals.items() if v > 0}
    alk = tp.sig(tp.strong_ion_difference(totals), 10)
    return w["kind"], t_c, ph, totals, alk


def check(r, alk):
    """PHREEQC's alkalinity and charge balance must be those of the strong-ion definition."""
    assert abs(r["alk"] - alk) < 1e-9, (r["alk"], alk)
    assert abs(r["cb"]) < 5e-9, r["cb"]
    return abs(r["cb"])


def waters(ip, groups, seed):
    rng = random.Random(seed)
    cases, worst_charge = [], 0.0
    dose_deck = []
    for group, count in groups:
        made = 0
        while made < count:
            kind, t_c, ph, totals, alk = tub_water(rng, group)
            by_ph = tp.solve(ip, t_c, totals, alk, ph=ph)
            dic = float("%.6g" % by_ph["dic"])
            if dic < 1e-4:
                continue
            by_dic = tp.solve(ip, t_c, totals, alk, dic=dic)
            worst_charge = max(worst_charge, check(by_ph, alk), check(by_dic, alk))
            case = {"id": "x%03d" % (len(cases) + 1), "group": group,
                    "water": {"t_c": t_c, "kind": kind, "mol_per_kgw": totals, "alkalinity_eq_per_kgw": alk},
                    "given_ph": {"input": {"pH": ph}, "result": tp.tidy(by_ph)},
                    "given_dic": {"input": {"dic_mol_per_kgw": dic}, "result": tp.tidy(by_dic)}, "doses": []}
            while len(case["doses"]) < 1 + len(cases) % 2:
                if not dose_deck:
                    dose_deck = sorted(LARGEST_MMOL)
                    rng.shuffle(dose_deck)
                name = dose_deck.pop()
                mmol = round(LARGEST_MMOL[name] * rng.uniform(0.1, 1), 4)
                if name == "carbon_dioxide" and rng.random() < 0.5:
                    mmol = -round(mmol * 0.3, 4)  # outgassing
                after, alk2, dic2 = apply_dose(totals, alk, dic, name, mmol / 1000)
                if dic2 < 5e-5 or alk2 < 5e-5:
                    continue
                r = tp.solve(ip, t_c, after, alk2, dic=dic2)
                if not 4.0 < r["pH"] < 11.0:
                    continue
                worst_charge = max(worst_charge, check(r, alk2))
                case["doses"].append({
                    "chemical": name, "formula": DOSES[name][0], "mmol_per_kgw": mmol,
                    "after": {"mol_per_kgw": {k: tp.sig(v, 12) for k, v in after.items()},
                              "alkalinity_eq_per_kgw": tp.sig(alk2, 12), "dic_mol_per_kgw": tp.sig(dic2, 12)},
                    "result": tp.tidy(r)})
            cases.append(case)
            made += 1
    return cases, worst_charge


STANDARD_WATER = {"Ca": 1.49708e-3, "Mg": 2.46863e-4, "K": 1.27883e-4, "Na": 2.616822e-3, "Cl": 3.384763e-3,
                  "SO4": 6.246096e-4}


def dose_table(ip):
    """10.000 mg of each pure substance per kg of the standard water at pH 7.50."""
    alk = 1.598609e-3
    base, rows = {}, []
    for t_c in (25, 38):
        r = tp.solve(ip, t_c, STANDARD_WATER, alk, ph=7.5)
        base[t_c] = r
    for name, (formula, molar_mass, ions, alk_per_mol, _) in DOSES.items():
        mol = 0.010 / molar_mass
        row = {"chemical": name, "formula": formula, "molar_mass_g_mol": molar_mass, "mg_per_kgw": 10.0,
               "alkalinity_change_mg_caco3": round(alk_per_mol * mol * CACO3_EQ * 1000, 4),
               "free_chlorine_mg_cl2": round(ions.get("free_chlorine", 0) * mol * 70906, 4)}
        for t_c, b in base.items():
            after, alk2, dic2 = apply_dose(STANDARD_WATER, alk, b["dic"], name, mol)
            r = tp.solve(ip, t_c, after, alk2, dic=dic2)
            row["ph_change_%dc" % t_c] = round(r["pH"] - b["pH"], 5)
            row["si_calcite_change_%dc" % t_c] = round(r["si_calcite"] - b["si_calcite"], 5)
            active = ions.get("free_chlorine", 0) * mol
            if active > 0:  # all active chlorine has become chloride
                used = dict(after, Cl=after["Cl"] + active)
                used["free_chlorine"] = 0.0
                r = tp.solve(ip, t_c, used, alk2 - active, dic=dic2)
                row["ph_change_after_use_%dc" % t_c] = round(r["pH"] - b["pH"], 5)
        if "ph_change_after_use_25c" in row:
            row["alkalinity_change_after_use_mg_caco3"] = round(
                (alk_per_mol - ions["free_chlorine"]) * mol * CACO3_EQ * 1000, 4)
        rows.append(row)
    return {"water": {"mol_per_kgw": STANDARD_WATER, "alkalinity_eq_per_kgw": alk, "pH": 7.5},
            "base": {"%dc" % t: tp.tidy(b) for t, b in base.items()}, "rows": rows}


def conductivity(ip, cases):
    """Specific conductance at exactly 25 C: pure NaCl solutions, plain waters without boron, 12 of phreeqc_cases.json."""
    out = []
    for mg in (250, 500, 1000, 1500, 2000, 3000, 4000, 5000, 6000):
        m = tp.sig(mg / 58.443 / 1000, 10)
        ip.run_string(tp.punch_block() + "SOLUTION 1\n -temp 25\n -units mol/kgw\n pH 7\n Na %.12g\n Cl %.12g\nEND\n" % (m, m))
        t = ip.get_selected_output_array()
        r = dict(zip(t[0], t[-1]))
        out.append({"id": "nacl_%d" % mg, "kind": "pure_sodium_chloride", "nacl_mg_per_kgw": mg,
                    "mol_per_kgw": {"Na": m, "Cl": m}, "alkalinity_eq_per_kgw": 0.0, "dic_mol_per_kgw": 0.0,
                    "pH": 7.0, "ionic_strength": tp.sig(r["mu"]), "density_kg_per_l": tp.sig(r["rho"], 7),
                    "spec_conductance_uS_cm": tp.sig(r["sc"], 6)})
    with open(os.path.join(HERE, "phreeqc_cases.json")) as f:
        basic = json.load(f)["cases"][:12]
    plain = [c for c in cases if c["group"] == "plain" and "B" not in c["water"]["mol_per_kgw"]]
    for c in plain + basic:
        w, dic = c["water"], c["given_dic"]["input"]["dic_mol_per_kgw"]
        r = tp.solve(ip, 25, w["mol_per_kgw"], w["alkalinity_eq_per_kgw"], dic=dic)
        out.append({"id": c["id"], "kind": w["kind"], "mol_per_kgw": w["mol_per_kgw"],
                    "alkalinity_eq_per_kgw": w["alkalinity_eq_per_kgw"], "dic_mol_per_kgw": dic,
                    "pH": round(r["pH"], 6), "ionic_strength": tp.sig(r["mu"]),
                    "density_kg_per_l": tp.sig(r["rho"], 7), "spec_conductance_uS_cm": tp.sig(r["sc"], 6)})
    return out


def write(name, head, key, items):
    """One item per line: small, and a changed case shows as one changed line."""
    with open(os.path.join(HERE, name), "w") as f:
        f.write(json.dumps(head, indent=1)[:-2] + ',\n "%s": [\n' % key)
        f.write(",\n".join(json.dumps(i, separators=(",", ":")) for i in items))
        f.write("\n ]\n}\n")


def main():
    ip = tp.engine()
    cases, worst_charge = waters(ip, [("plain", 60), ("chlorine_cyanurate", 54), ("ammonium_bromide", 6)], seed=2)
    common = {"made_by": "extend_phreeqc.py", "engine": tp.EDITION,
              "units": "mol per kg water unless a key says otherwise; pH = -log10 a(H+); log10_gamma molal; pco2 is the fugacity"}
    write("phreeqc_extended.json", {
        "about": "PHREEQC results with hypochlorite and cyanurate added; constants and citations in tub_phreeqc.py",
        **common, "seed": 2, "count": len(cases),
        "largest_charge_imbalance_eq_per_kgw": tp.sig(worst_charge, 3),
        "totals": "free_chlorine in mol Cl2-equivalent (HOCl + OCl- + chlorine bound to cyanurate), cyanurate in mol C3N3O3, NH4 is NH4+ + NH3, SO4 is all sulfate",
        "alkalinity": "strong-ion difference; zero level CO2, B(OH)3, HOCl, H3Cy and chlorinated forms fully protonated, NH4+, SO4--",
        "conductance": "species without a diffusion coefficient (H2BO3-, OCl-, cyanurates) add nothing",
        "molar_masses": MM}, "cases", cases)
    table = dose_table(ip)
    rows = table.pop("rows")
    write("phreeqc_dose_table.json", {
        "about": "change made by 10.000 mg of the pure substance per kg of water, closed system, at 25 and 38 C", **common, **table},
        "rows", rows)
    sc = conductivity(ip, cases)
    write("conductivity_25c.json", {
        "about": "PHREEQC specific conductance at 25 C. Against the NIST KCl standards (published/conductivity_standards.csv) "
        "PHREEQC reads 0.9 % low at 0.01 molal and 2.6 % low at 0.1 molal; at 5-40 C it is off by -8 to +4 %, so only 25 C is given",
        **common, "count": len(sc)}, "waters", sc)
    print(len(cases), "waters,", sum(len(c["doses"]) for c in cases), "doses, worst charge", worst_charge, len(sc), "conductances")


if __name__ == "__main__":
    main()
