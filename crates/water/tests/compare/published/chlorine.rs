//! Chlorine, bromine and cyanurate.

use super::equilibria;
use crate::compare::{Row, Section, Table, Worst, chlorine, cyanurate, number, percent, reference_file};
use water::units::{mg_l_from_mol_kg, molar_mass};
use water::{Celsius, Chemical, Ph, Speciation, Totals, addition, chlorine::protonated_fraction, constants};

/// Shares of hypochlorous and hypobromous acid.
pub(crate) fn halogen_fractions() -> Section {
    let share = |acid, ph, t| {
        100.0 * protonated_fraction(acid, Ph(ph), Celsius(t)).expect("a table's temperature is in range")
    };
    let mut rows: Vec<Row> = Table::parse(reference_file!("published/hocl_fraction_mahc.csv"))
        .lines()
        .map(|l| {
            let (halogen, ph) = (l.text("halogen"), l.number("ph"));
            let acid = match halogen {
                "chlorine" => &constants::HYPOCHLOROUS,
                _ => &constants::HYPOBROMOUS,
            };
            number(
                format!("{halogen} in acid form at pH {ph:.1}, % (Model Aquatic Health Code)"),
                l.number("percent_acid_form"),
                share(acid, ph, 25.0),
                1,
                (
                    l.number("tolerance_percentage_points"),
                    "points",
                    "whole percent, no temperature printed; its pKa are 7.59 and 8.69, ours 7.54 and 8.65",
                ),
            )
        })
        .collect();
    let mut worst = Worst::default();
    for l in Table::parse(reference_file!("published/hocl_fraction_morris.csv")).lines() {
        for (ph, printed) in l.columns("ph_") {
            let t = l.number("t_c");
            worst.see(&format!("{t} °C, pH {ph}"), share(&constants::HYPOCHLOROUS, ph, t) - printed);
        }
    }
    rows.push(worst.row(
        "HOCl share at 5-40 °C, pH 6.5-8.4 (table from Morris 1966)",
        (0.06, "points", "the same equation, printed to one decimal: a check of the arithmetic"),
    ));
    Section {
        title: "Acid share of free chlorine and bromine",
        source: "US CDC, Model Aquatic Health Code, Annex 5.7.3.1.2.2 (read); Morris 1966, J. Phys. Chem. 70:3798 (equation from memory)",
        rows,
    }
}

/// A water of nothing but chlorine and cyanurate at a pH.
fn stabilised(t_c: f64, ph: f64, free_chlorine: f64, cyanurate: f64) -> Speciation {
    let t = Totals { free_chlorine, cyanurate, ..Totals::default() };
    equilibria(t_c).with_alkalinity_of(&t, Ph(ph)).expect("chlorine and cyanurate solve")
}

/// HOCl and OCl- beside cyanurate.
pub(crate) fn chlorine_and_cyanurate() -> Section {
    const DIGITS: f64 = 0.00005;
    let (mut acid, mut ion) = (Worst::default(), Worst::default());
    for l in Table::parse(reference_file!("published/chlorine_cyanurate_table.csv")).lines() {
        let (t, ph, fc, cya) =
            (l.number("t_c"), l.number("ph"), l.number("free_chlorine_mg_l"), l.number("cyanuric_acid_mg_l"));
        let s = stabilised(t, ph, chlorine(fc), cyanurate(cya));
        let id = format!("{t} °C, pH {ph}, {fc} and {cya} mg/L");
        for (worst, ours, printed) in [
            (&mut acid, s.hypochlorous_mol_kg(), l.number("hocl_mg_l")),
            (&mut ion, s.hypochlorite_mol_kg(), l.number("ocl_mg_l")),
        ] {
            // What is left once the last printed digit is allowed for.
            let off = (mg_l_from_mol_kg(ours, molar_mass::CL2) - printed).abs();
            let digit = if printed < 0.2 { DIGITS } else { 10.0 * DIGITS };
            worst.see(&id, 100.0 * (off - digit).max(0.0) / printed);
        }
    }
    Section {
        title: "Hypochlorous acid and hypochlorite beside cyanurate, 25 and 38 °C",
        source: "table derived from Wahman 2018, Wahman & Alexander 2019, O'Brien, Morris & Butler 1974 and Morris 1966; \
            `reference/published/chlorine_cyanurate_table.csv`. Above 35 °C extrapolated",
        rows: vec![
            acid.row("HOCl, beyond the last printed digit", (1.0, "%", "small species left out of the table")),
            ion.row(
                "OCl-, beyond the last printed digit",
                (2.0, "%", "the table is at zero ionic strength, ours at that of the ions themselves (up to 0.0004: 2 % in each γ)"),
            ),
        ],
    }
}

/// The worked example of a dichlor dose.
pub(crate) fn dichlor_example() -> Section {
    let rows = Table::parse(reference_file!("published/cyanurate_example.csv"))
        .lines()
        .map(|l| {
            let dose = chlorine(l.number("total_chlorine_mg_l_cl2")) / Chemical::Dichlor.active_chlorine();
            let water = addition::add(&Totals::default(), Chemical::Dichlor, dose).expect("a dose");
            let s = equilibria(l.number("t_c"))
                .with_alkalinity_of(&water, Ph(l.number("ph")))
                .expect("the example solves");
            percent(
                format!("free chlorine not held by cyanurate at {} °C, mg/L", l.text("t_c")),
                l.number("printed_hocl_plus_ocl_mg_l_cl2"),
                mg_l_from_mol_kg(s.hypochlorous_mol_kg() + s.hypochlorite_mol_kg(), molar_mass::CL2),
                3,
                (
                    l.number("tolerance_percent"),
                    "printed to two digits; the paper's ionic strength is not in its abstract, ours is that of the dose",
                ),
            )
        })
        .collect();
    Section {
        title: "2 mg/L of chlorine dosed as dichlor at pH 7.0",
        source: "Wahman & Alexander 2019, Environ. Eng. Sci. 36:283 (abstract read)",
        rows,
    }
}
