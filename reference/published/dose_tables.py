#!/usr/bin/env python3
"""Regenerate dose_tables.csv: printed handbook doses with their conversion to g, mL and L (no outside package needed)."""
import csv
import os

OZ_G, LB_G, FLOZ_ML, GAL_L = 28.349523, 453.59237, 29.573530, 3.7854118
PINT_ML = 16 * FLOZ_ML

HEADER = """\
# Published doses, the numbers and units as printed, then converted (avoirdupois ounce 28.3495 g, US fluid ounce 29.5735 mL, US gallon 3.78541 L).
# effect: free_chlorine in mg/L as Cl2; alkalinity and calcium_hardness in mg/L as CaCO3; cyanuric_acid, calcium, magnesium,
# sodium, chloride, sulfate in mg/L of themselves. Lowering is negative.
# use "no" = kept for the record, not fit for a check; the note says why.
# strength_percent: available chlorine (w/w for solids, 100 g/L per 10 % "trade" for liquids) or purity of the substance.
# Sources (all read unless named otherwise):
#  IN  Indiana Administrative Code 327 IAC 8-3.4-24, table 24-1, well disinfection (current through 2024): the rule asks for at least
#      50 mg/L, the table does not repeat it. "12 trade percent" = 120 g/L. The 60-inch row prints 11,690 gal, which must be 14,690
#      (60-inch casing, 100 ft): converted with 14,690.
#  KS  Kansas Department of Health and Environment, disinfecting with household bleach of 5.25 %: 1 fl oz in 1 gal gives 410 mg/L.
#  OP  a treatment operators' course, worked example: 550 gal of 200 mg/L from 12.5 % solution (density taken as water's).
#  C651 a supplier's page working the formula of AWWA C651 (disinfecting water mains).
#  ALK a waterworks magazine's table of theoretical alkalinity per ppm of alkali (title not seen); its sodium hydroxide figure
#      1.28 is 2.3 % above the stoichiometric 1.251 and its worked example repeats it.
#  GEN a common operators' figure, printed on several general pages: 1.4 lb of sodium bicarbonate per 10,000 gal and 10 ppm.
#  TR  operator-training pages: 2.1 lb of sodium bisulfate per 10,000 gal, 402 g of calcium chloride (100 %) per 40,000 L.
#  CH  an operators' dosage chart per 10,000 US gallons and 1 ppm (author unknown), rounded to a quarter ounce.
#  MA  University of Massachusetts Extension, "Adjusting Alkalinity with Acids" (text read; the table read as quoted on another page):
#      1 fl oz of 93 % sulfuric acid (density 1.835) in 100 gal removes 136.0 mg/L alkalinity.
#  HO  a horticulture growers' training page: 1.42 fl oz of 35 % sulfuric acid per 100 gal removes 50 ppm (density 1.26 is ours).
#  FL  University of Florida IFAS, citrus irrigation table A-2-1: rate factors 29.6 for 32 % hydrochloric and 8.7 for 93 % sulfuric acid,
#      so 29.6 mL of the one does what 8.7 mL of the other does; the effect in mg/L is derived with MA (density 1.159 is ours).
#  BR  a brewing-water page: ppm added by 1 g of salt in 1 US gallon. It names the salts without crystal water; its numbers are
#      those of CaCl2.2H2O, MgSO4.7H2O and MgCl2.6H2O.
# tolerance_percent covers the rounding of the printed number and, for CH, of the unit conversion inside it.
"""

ROWS = []


def row(source, chemical, strength, printed, amount, unit, volume_printed, volume_l, effect, value, tolerance, note="",
        use="yes", density=""):
    ROWS.append(["%s_%02d" % (source.lower(), 1 + sum(r[1] == source for r in ROWS)), source, chemical, strength, density, printed,
                 "%.5g" % amount, unit, volume_printed, "%.6g" % volume_l, effect, value, tolerance, use, note])


WELLS = [  # casing inch, gallons, 65 % calcium hypochlorite printed, grams, its tolerance, 12 % sodium hypochlorite printed, mL, its tolerance
    (5, 106.09, "1.1 oz", 1.1 * OZ_G, 6, "5.65 fl oz", 5.65 * FLOZ_ML, 2),
    (6, 146.9, "1.5 oz", 1.5 * OZ_G, 5, "7.8 fl oz", 7.8 * FLOZ_ML, 2),
    (8, 261.1, "2.7 oz", 2.7 * OZ_G, 3, "13.9 fl oz", 13.9 * FLOZ_ML, 2),
    (10, 408.0, "4.2 oz", 4.2 * OZ_G, 3, "1.4 pt", 1.4 * PINT_ML, 5),
    (12, 587.5, "6.0 oz", 6.0 * OZ_G, 3, "2.0 pt", 2.0 * PINT_ML, 4),
    (16, 1044.0, "10.7 oz", 10.7 * OZ_G, 2, "3.5 pt", 3.5 * PINT_ML, 3),
    (20, 1632.0, "1 lb 1 oz", 17 * OZ_G, 4, "0.7 gal", 0.7 * GAL_L * 1000, 8),
    (24, 2350.0, "1 lb 8 oz", 24 * OZ_G, 4, "1.0 gal", 1.0 * GAL_L * 1000, 6),
    (30, 3672.0, "2 lb 6 oz", 38 * OZ_G, 3, "1.5 gal", 1.5 * GAL_L * 1000, 4),
    (36, 5287.0, "3 lb 6 oz", 54 * OZ_G, 2, "2.2 gal", 2.2 * GAL_L * 1000, 3),
    (48, 9400.0, "6 lb 1 oz", 97 * OZ_G, 2, "3.9 gal", 3.9 * GAL_L * 1000, 2),
    (60, 14690.0, "9 lb 7 oz", 151 * OZ_G, 2, "6.1 gal", 6.1 * GAL_L * 1000, 2)]
for inch, gal, dry, grams, dry_tol, wet, ml, wet_tol in WELLS:
    misprint = "printed as 11,690 gal" if inch == 60 else ""
    row("IN", "calcium_hypochlorite", 65, dry, grams, "g", "%s gal" % gal, gal * GAL_L, "free_chlorine", 50, dry_tol, misprint)
    row("IN", "sodium_hypochlorite", 12, wet, ml, "mL", "%s gal" % gal, gal * GAL_L, "free_chlorine", 50, wet_tol, misprint)
row("KS", "sodium_hypochlorite", 5.25, "1 fl oz", FLOZ_ML, "mL", "1 gal", GAL_L, "free_chlorine", 410, 1)
row("KS", "sodium_hypochlorite", 5.25, "122 fl oz", 122 * FLOZ_ML, "mL", "1000 gal", 1000 * GAL_L, "free_chlorine", 50, 1)
row("OP", "sodium_hypochlorite", 12.5, "0.88 gal", 0.88 * GAL_L * 1000, "mL", "550 gal", 550 * GAL_L, "free_chlorine", 200, 1)
row("C651", "sodium_hypochlorite", 6, "8.33 gal", 8.33 * GAL_L * 1000, "mL", "5000 gal", 5000 * GAL_L, "free_chlorine", 100, 1)
row("C651", "sodium_hypochlorite", 12, "4.17 gal", 4.17 * GAL_L * 1000, "mL", "5000 gal", 5000 * GAL_L, "free_chlorine", 100, 1)
row("C651", "calcium_hypochlorite", 65, "6.4 lb", 6.4 * LB_G, "g", "5000 gal", 5000 * GAL_L, "free_chlorine", 100, 1)
row("ALK", "sodium_carbonate", 100, "1 ppm", 1, "g", "1 m3", 1000, "alkalinity", 0.94, 1)
row("ALK", "sodium_bicarbonate", 100, "1 ppm", 1, "g", "1 m3", 1000, "alkalinity", 0.60, 1)
row("ALK", "sodium_hydroxide", 100, "1 ppm", 1, "g", "1 m3", 1000, "alkalinity", 1.28, 1, "2.3 % above stoichiometry", "no")
row("ALK", "sodium_hydroxide", 100, "10 ppm", 10, "g", "1 m3", 1000, "alkalinity", 12.8, 1,
    "worked example 30 to 42.8 ppm, 2.3 % above stoichiometry", "no")
row("GEN", "sodium_bicarbonate", 100, "1.4 lb", 1.4 * LB_G, "g", "10000 gal", 10000 * GAL_L, "alkalinity", 10, 4)
row("TR", "sodium_bisulfate", 95, "2.1 lb", 2.1 * LB_G, "g", "10000 gal", 10000 * GAL_L, "alkalinity", -10, 5, "purity not printed, 93-99 % is usual")
row("TR", "calcium_chloride", 100, "402 g", 402, "g", "40000 L", 40000, "calcium_hardness", 10, 1,
    "9 % below stoichiometry, reason not told", "no")
row("CH", "calcium_hypochlorite", 73, "1.75 oz", 1.75 * OZ_G, "g", "10000 gal", 10000 * GAL_L, "free_chlorine", 1, 10)
row("CH", "dichlor_dihydrate", 55, "2.25 oz", 2.25 * OZ_G, "g", "10000 gal", 10000 * GAL_L, "free_chlorine", 1, 10)
row("CH", "cyanuric_acid", 100, "1.3 oz", 1.3 * OZ_G, "g", "10000 gal", 10000 * GAL_L, "cyanuric_acid", 1, 10)
row("CH", "sodium_bicarbonate", 100, "2.4 oz", 2.4 * OZ_G, "g", "10000 gal", 10000 * GAL_L, "alkalinity", 1, 10)
row("CH", "hydrochloric_acid", "", "2.1 fl oz", 2.1 * FLOZ_ML, "mL", "10000 gal", 10000 * GAL_L, "alkalinity", -1, 10,
    "strength not printed; fits 37-38 %, 19 % low for 31.45 %", "no")
row("MA", "sulfuric_acid", 93, "1 fl oz", FLOZ_ML, "mL", "100 gal", 100 * GAL_L, "alkalinity", -136.0, 1, "", "yes", 1.835)
row("HO", "sulfuric_acid", 35, "1.42 fl oz", 1.42 * FLOZ_ML, "mL", "100 gal", 100 * GAL_L, "alkalinity", -50, 2, "", "yes", 1.26)
row("FL", "hydrochloric_acid", 32, "29.6 (factor)", 29.6, "mL", "1000 L", 1000, "alkalinity",
    "%.4g" % (-136.0 * 100 * GAL_L / FLOZ_ML * 8.7 / 1000), 2, "effect derived from 8.7 of 93 % sulfuric acid", "yes", 1.159)
for chemical, ions in {
        "calcium_chloride_dihydrate": {"calcium": 71.9, "chloride": 127.5}, "sodium_bicarbonate": {"sodium": 72.3},
        "magnesium_sulfate_heptahydrate": {"magnesium": 26.1, "sulfate": 103}, "sodium_chloride": {"sodium": 104, "chloride": 160.3},
        "magnesium_chloride_hexahydrate": {"magnesium": 31.6, "chloride": 92.2}}.items():
    for ion, ppm in ions.items():
        row("BR", chemical, 100, "1 g", 1, "g", "1 gal", GAL_L, ion, ppm, 1)
row("BR", "calcium_chloride_dihydrate", 100, "1 g", 1, "g", "1 gal", GAL_L, "calcium_hardness", 180, 1)

with open(os.path.join(os.path.dirname(os.path.abspath(__file__)), "dose_tables.csv"), "w", newline="") as f:
    f.write(HEADER)
    out = csv.writer(f, lineterminator="\n")
    out.writerow(["id", "source", "chemical", "strength_percent", "density_kg_l", "printed_amount", "amount", "unit", "printed_volume",
                  "volume_l", "effect", "printed_effect", "tolerance_percent", "use", "note"])
    out.writerows(ROWS)
