//! Random tub waters from a seed: the domain that the program promises to handle.

// Every test binary uses its own part of this module.
#![allow(dead_code)]

use water::units::{eq_kg_from_mg_l_caco3, mol_kg_from_hardness_mg_l_caco3, mol_kg_from_mg_l, molar_mass};
use water::{Celsius, Ph, Totals};

/// SplitMix64 (Steele, Lea & Flood 2014, from memory): small, seeded, the same everywhere.
pub(crate) struct Random(u64);

impl Random {
    pub(crate) fn seeded(seed: u64) -> Self {
        Random(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Uniform in `low..high`.
    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * ((self.next() >> 11) as f64 / (1u64 << 53) as f64)
    }

    /// Absent in a quarter of the cases, near nothing in a quarter (log-uniform over six decades), else uniform up to `high`.
    pub(crate) fn amount(&mut self, high: f64) -> f64 {
        match self.next() % 4 {
            0 => 0.0,
            1 => high * 10f64.powf(self.between(-6.0, 0.0)),
            _ => self.between(0.0, high),
        }
    }
}

/// A temperature, a pH and a water's totals without its carbon.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Tub {
    pub(crate) t: Celsius,
    pub(crate) ph: Ph,
    pub(crate) totals: Totals,
}

/// Anything in the domain: 5–45 °C, pH 4–11, alkalinity 0–500 mg/L CaCO3, salt 0–40 000 mg/L, calcium and magnesium hardness
/// 0–1500 mg/L CaCO3, sulfate 0–3000, boron 0–100, chlorine 0–50, cyanuric acid 0–300, bromide 0–200, ammonia 0–20 mg/L.
pub(crate) fn anything(r: &mut Random) -> Tub {
    let t = Celsius(r.between(5.0, 45.0));
    let ph = Ph(r.between(4.0, 11.0));
    let salt = mol_kg_from_mg_l(r.amount(40_000.0), molar_mass::NACL);
    let mut totals = Totals {
        alkalinity: eq_kg_from_mg_l_caco3(r.amount(500.0)),
        calcium: mol_kg_from_hardness_mg_l_caco3(r.amount(1500.0)),
        magnesium: mol_kg_from_hardness_mg_l_caco3(r.amount(1500.0)),
        sodium: salt,
        chloride: salt,
        potassium: mol_kg_from_mg_l(r.amount(500.0), molar_mass::K),
        sulfate: mol_kg_from_mg_l(r.amount(3000.0), molar_mass::SO4),
        boron: mol_kg_from_mg_l(r.amount(100.0), molar_mass::B),
        free_chlorine: mol_kg_from_mg_l(r.amount(50.0), molar_mass::CL2),
        cyanurate: mol_kg_from_mg_l(r.amount(300.0), molar_mass::CYANURIC_ACID),
        bromide: mol_kg_from_mg_l(r.amount(200.0), molar_mass::BR),
        ammonia: mol_kg_from_mg_l(r.amount(20.0), molar_mass::N),
        inert_anion: r.amount(1e-3),
        monopersulfate: r.amount(1e-4),
        thiosulfate: r.amount(1e-4),
        hydrogen_peroxide: r.amount(1e-4),
        ..Totals::default()
    };
    // Half are complete analyses, half are not: the solve does not need a closed charge.
    if r.between(0.0, 1.0) < 0.5 {
        totals = totals.closed_with_sodium_chloride();
    }
    Tub { t, ph, totals }
}

/// An ordinary tub: 15–42 °C, pH 6–9, complete, enough alkalinity for its pH, whatever the shelf has put into it.
pub(crate) fn ordinary(r: &mut Random) -> Tub {
    let wild = anything(r);
    let totals = Totals {
        alkalinity: eq_kg_from_mg_l_caco3(r.between(40.0, 300.0))
            + wild.totals.boron
            + wild.totals.cyanurate
            + wild.totals.free_chlorine,
        ..wild.totals
    };
    Tub {
        t: Celsius(r.between(15.0, 42.0)),
        ph: Ph(r.between(6.0, 9.0)),
        totals: totals.closed_with_sodium_chloride(),
    }
}
