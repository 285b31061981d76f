"""PHREEQC (phreeqc.dat) with hypochlorite and cyanurate added, for the scripts in this folder.

Test data only: ordinary test runs read the committed JSON and need no Python.
Needs the package phreeqpython (it ships the IPhreeqc library and phreeqc.dat).

Constants added (all at zero ionic strength, T in kelvin):
  HOCl = OCl- + H+             pK  = 3000.00/T - 10.0686 + 0.0253 T   Morris 1966, J. Phys. Chem. 70:3798
  H3Cy = H2Cy- + H+            pK1 = 1743/T + 1.12                    Wahman 2018, Environ. Sci.: Water Res. Technol. 4:1522
  H2Cy- = HCy-- + H+           pK2 = 11.40                            Brady et al. 1963, J. Org. Chem. 28:3101
  HCy-- = Cy--- + H+           pK3 = 13.5                             Brady et al. 1963
  HClCy- + H2O = H2Cy- + HOCl  pK9a = 2229/T - 1.65                   Wahman & Alexander 2019, Environ. Eng. Sci. 36:283
  Cl2Cy- + H2O = HClCy- + HOCl pK7a = 2028/T - 2.15                   Wahman & Alexander 2019
  H2ClCy = HClCy- + H+         pK  = 5.33   \
  HClCy- = ClCy-- + H+         pK  = 10.12   | O'Brien, Morris & Butler 1974 (in Rubin, Chemistry of Water Supply,
  HCl2Cy = Cl2Cy- + H+         pK  = 3.75    | Treatment and Distribution, ch. 14), 25 C, used at every temperature
  Cl3Cy + H2O = HCl2Cy + HOCl  pK  = 1.8    /
No gamma line is given, so ions take the Davies equation and neutral species log g = 0.1 I, PHREEQC's defaults.
PHREEQC puts the activity of water into every reaction with H2O by itself.

Element names: Xcl is chlorine(+1) (so PHREEQC does not reduce it to chloride), Cy is C3N3O3, Psm is the
peroxymonosulfate ion HSO5- taken as a strong anion. The masters HOCl and H3Cy have alkalinity 0, so PHREEQC's
Alkalinity is the full charge-balance alkalinity with zero level CO2, B(OH)3, HOCl, H3Cy, NH4+, SO4--.
The added species have no diffusion coefficient (nor has H2BO3- in phreeqc.dat): they add nothing to
PHREEQC's specific conductance.
"""
import os

import phreeqpython
from phreeqpython.viphreeqc import VIPhreeqc

DATABASE = os.path.join(os.path.dirname(phreeqpython.__file__), "database", "phreeqc.dat")
EDITION = "phreeqc.dat and IPhreeqc as shipped with phreeqpython " + \
    getattr(phreeqpython, "__version__", "1.6.2")

EXTENSION = """
SOLUTION_MASTER_SPECIES
Xcl   HOXcl   0.0   Xcl    35.453
Cy    H3Cy    0.0   Cy    126.05
Psm   Psm-    0.0   Psm   113.07
SOLUTION_SPECIES
HOXcl = HOXcl
H3Cy = H3Cy
Psm- = Psm-
HOXcl = OXcl- + H+
 -analytical_expression 10.0686 -0.0253 -3000.00
H3Cy = H2Cy- + H+
 -analytical_expression -1.12 0 -1743
H2Cy- = HCy-2 + H+
 log_k -11.40
HCy-2 = Cy-3 + H+
 log_k -13.5
H2Cy- + HOXcl = HXclCy- + H2O
 -analytical_expression -1.65 0 2229
HXclCy- + HOXcl = Xcl2Cy- + H2O
 -analytical_expression -2.15 0 2028
HXclCy- + H+ = H2XclCy
 log_k 5.33
HXclCy- = XclCy-2 + H+
 log_k -10.12
Xcl2Cy- + H+ = HXcl2Cy
 log_k 3.75
HXcl2Cy + HOXcl = Xcl3Cy + H2O
 log_k 1.8
END
"""

# our name -> PHREEQC master name in a SOLUTION block
MASTERS = {"Ca": "Ca", "Mg": "Mg", "Na": "Na", "K": "K", "Li": "Li", "Cl": "Cl", "SO4": "S(6)", "B": "B",
           "Br": "Br", "NH4": "N(-3)", "free_chlorine": "Xcl", "cyanurate": "Cy", "HSO5": "Psm"}
# charge each total carries in the strong-ion difference (NH4 at the NH4+ level)
STRONG_CHARGE = {"Ca": 2, "Mg": 2, "Na": 1, "K": 1, "Li": 1, "NH4": 1, "Cl": -1, "Br": -1, "SO4": -2, "HSO5": -1}

# our species name -> PHREEQC species name
SPECIES = {s: s for s in [
    "H+", "OH-", "CO2", "HCO3-", "CO3-2", "Ca+2", "Mg+2", "Na+", "K+", "Cl-", "SO4-2", "HSO4-", "Br-", "NH4+",
    "NH3", "NH4SO4-", "CaHCO3+", "CaCO3", "CaSO4", "CaOH+", "CaHSO4+", "MgHCO3+", "MgCO3", "MgSO4", "MgOH+",
    "NaHCO3", "NaCO3-", "NaSO4-", "KSO4-", "H3BO3", "H2BO3-", "(CO2)2"]}
SPECIES.update({"HOCl": "HOXcl", "OCl-": "OXcl-", "H3Cy": "H3Cy", "H2Cy-": "H2Cy-", "HCy-2": "HCy-2",
                "Cy-3": "Cy-3", "H2ClCy": "H2XclCy", "HClCy-": "HXclCy-", "ClCy-2": "XclCy-2",
                "HCl2Cy": "HXcl2Cy", "Cl2Cy-": "Xcl2Cy-", "Cl3Cy": "Xcl3Cy"})
GAMMAS = ["H+", "OH-", "CO2", "HCO3-", "CO3-2", "Ca+2", "Mg+2", "Na+", "K+", "Cl-", "SO4-2", "H2BO3-",
          "OCl-", "HOCl", "H2Cy-", "HCy-2"]
FUNCTIONS = {"pH": '-LA("H+")', "alk": "ALK", "dic": 'TOT("C(4)")', "mu": "MU", "si_calcite": 'SI("Calcite")',
             "si_aragonite": 'SI("Aragonite")', "si_gypsum": 'SI("Gypsum")', "lg_pco2": 'SI("CO2(g)")',
             "aw": '10^LA("H2O")', "rho": "RHO", "sc": "SC", "cb": "CHARGE_BALANCE"}


def engine():
    ip = VIPhreeqc()
    ip.load_database(DATABASE)
    ip.run_string(EXTENSION)
    return ip


def punch_block():
    columns = dict(FUNCTIONS)
    columns.update({"lg_" + s: 'LG("%s")' % SPECIES[s] for s in GAMMAS})
    columns.update({"m_" + s: 'MOL("%s")' % p for s, p in SPECIES.items()})
    text = "SELECTED_OUTPUT 1\n -reset false\n -high_precision true\nUSER_PUNCH 1\n -headings %s\n -start\n" % \
        " ".join(columns)
    body = list(columns.values())
    for n, i in enumerate(range(0, len(body), 4)):
        text += "%d PUNCH %s\n" % (10 * (n + 1), ", ".join(body[i:i + 4]))
    return text + " -end\n"


def solution_block(t_c, totals, alk_eq, ph=None, dic=None, number=1):
    """Give ph (DIC is then found) or dic (pH is then found); totals in mol per kg water."""
    text = "SOLUTION %d\n -temp %.10g\n -units mol/kgw\n -water 1\n pe 8\n pH %.10g\n Alkalinity %.12g\n" % (
        number, t_c, 7.5 if ph is None else ph, alk_eq)
    if ph is None:
        text += " C(4) %.12g\n" % dic
    for name, master in MASTERS.items():
        if totals.get(name, 0) > 0:
            text += " %s %.12g\n" % (master, totals[name])
    return text


def solve(ip, t_c, totals, alk_eq, ph=None, dic=None):
    ip.run_string(punch_block() + solution_block(t_c, totals, alk_eq, ph, dic) + "END\n")
    table = ip.get_selected_output_array()
    return dict(zip(table[0], table[-1]))


def strong_ion_difference(totals):
    return sum(z * totals.get(name, 0.0) for name, z in STRONG_CHARGE.items())


def sig(x, digits=8):
    return float("%.*g" % (digits, x))


def tidy(r):
    """The result of one solve under the same keys as phreeqc_cases.json."""
    present = [s for s in SPECIES if r["m_" + s] > 1e-30]
    return {
        "pH": round(r["pH"], 6), "alkalinity_eq_per_kgw": sig(r["alk"]), "dic_mol_per_kgw": sig(r["dic"]),
        "ionic_strength": sig(r["mu"]),
        "si_calcite": round(r["si_calcite"], 6) if r["si_calcite"] > -90 else None,
        "si_aragonite": round(r["si_aragonite"], 6) if r["si_aragonite"] > -90 else None,
        "si_gypsum": round(r["si_gypsum"], 6) if r["si_gypsum"] > -90 else None,
        "log10_pco2_atm": round(r["lg_pco2"], 6), "water_activity": sig(r["aw"]),
        "density_kg_per_l": sig(r["rho"], 7), "spec_conductance_uS_cm": sig(r["sc"], 6),
        "log10_gamma": {s: round(r["lg_" + s], 6) for s in GAMMAS if s in present},
        "molality": {s: sig(r["m_" + s], 7) for s in present}}
