//! A capillary strip's table: scale units to mg/L, monotone between the rows.
//!
//! Interpolation: piecewise cubic Hermite with the slopes of Fritsch & Butland 1984 (SIAM J. Sci. Stat. Comput. 5:300;
//! a case of Fritsch & Carlson 1980, SIAM J. Numer. Anal. 17:238): never overshoots, strictly rising if the rows are.

use water::units::molar_mass;

use super::error::Wrong;
use crate::text::say;

/// What a lot's table is in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ChlorideBasis {
    /// mg/L as sodium chloride.
    SodiumChloride,
    /// mg/L as chloride.
    Chloride,
}

impl ChlorideBasis {
    /// mg/L as NaCl of a milligram per litre on this basis: 1.6485 for chloride.
    pub fn as_sodium_chloride(self) -> f64 {
        match self {
            ChlorideBasis::SodiumChloride => 1.0,
            ChlorideBasis::Chloride => molar_mass::NACL / molar_mass::CL,
        }
    }
}

/// The table printed for one lot of strips. Checked when it is made, so that no other can exist.
#[derive(Debug, Clone, PartialEq)]
pub struct LotTable {
    lot: String,
    basis: ChlorideBasis,
    units: Vec<f64>,
    mg_l: Vec<f64>,
    slopes: Vec<f64>,
}

impl LotTable {
    /// A table of (scale units, mg/L) rows, lowest first.
    ///
    /// # Errors
    /// [`Wrong`] naming the row that is not a number, negative, or not above the row before it.
    pub fn new(lot: impl Into<String>, basis: ChlorideBasis, rows: &[(f64, f64)]) -> Result<LotTable, Wrong> {
        if rows.len() < 2 {
            return Err(Wrong::LotTableTooShort { rows: rows.len() });
        }
        let units: Vec<f64> = rows.iter().map(|r| r.0).collect();
        let mg_l: Vec<f64> = rows.iter().map(|r| r.1).collect();
        check("units", &units, 100.0)?;
        check("mg_l", &mg_l, 100_000.0)?;
        let slopes = slopes(&units, &mg_l);
        Ok(LotTable { lot: lot.into(), basis, units, mg_l, slopes })
    }

    /// The lot.
    pub fn lot(&self) -> &str {
        &self.lot
    }

    /// What its mg/L are.
    pub fn basis(&self) -> ChlorideBasis {
        self.basis
    }

    /// Its rows, as printed.
    pub fn rows(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.units.iter().copied().zip(self.mg_l.iter().copied())
    }

    /// First and last scale unit.
    pub fn range_units(&self) -> (f64, f64) {
        (self.units[0], self.units[self.units.len() - 1])
    }

    /// mg/L as NaCl and its slope per scale unit; `None` beyond the table's ends.
    pub fn salt_mg_l(&self, units: f64) -> Option<(f64, f64)> {
        let (first, last) = self.range_units();
        if !(first..=last).contains(&units) {
            return None;
        }
        let i = self.units.partition_point(|u| *u <= units).clamp(1, self.units.len() - 1) - 1;
        let h = self.units[i + 1] - self.units[i];
        let t = (units - self.units[i]) / h;
        let (y0, y1) = (self.mg_l[i], self.mg_l[i + 1]);
        let (m0, m1) = (self.slopes[i] * h, self.slopes[i + 1] * h);
        let rise = y1 - y0;
        // Hermite form written from y0, so that rounding can't carry it past an end.
        let value = y0 + t * (m0 + t * ((3.0 * rise - 2.0 * m0 - m1) + t * (m0 + m1 - 2.0 * rise)));
        let slope = (m0 + t * (2.0 * (3.0 * rise - 2.0 * m0 - m1) + t * 3.0 * (m0 + m1 - 2.0 * rise))) / h;
        let basis = self.basis.as_sodium_chloride();
        Some((value.clamp(y0, y1) * basis, slope.max(0.0) * basis))
    }
}

fn check(field: &'static str, column: &[f64], most: f64) -> Result<(), Wrong> {
    for (i, &value) in column.iter().enumerate() {
        let wrong =
            |accepted| Err(Wrong::LotTable { field, row: i + 1, value, accepted: Box::new(accepted) });
        if !value.is_finite() || !(0.0..=most).contains(&value) {
            return wrong(say!(
                "care-lot-figure",
                "a number from 0 up is accepted (100 units and 100000 mg/L at most)"
            ));
        }
        if i > 0 && value <= column[i - 1] {
            return wrong(say!("care-lot-rising", "every row must be above the one before it"));
        }
    }
    Ok(())
}

/// Weighted harmonic means of the neighbouring slopes; at the ends the slope of the parabola, kept within monotony.
fn slopes(x: &[f64], y: &[f64]) -> Vec<f64> {
    let n = x.len();
    let h: Vec<f64> = x.windows(2).map(|w| w[1] - w[0]).collect();
    let d: Vec<f64> = y.windows(2).zip(&h).map(|(w, h)| (w[1] - w[0]) / h).collect();
    if n == 2 {
        return vec![d[0]; 2];
    }
    let end = |h0: f64, h1: f64, d0: f64, d1: f64| {
        (((2.0 * h0 + h1) * d0 - h0 * d1) / (h0 + h1)).clamp(0.0, 3.0 * d0)
    };
    let mut m = vec![end(h[0], h[1], d[0], d[1])];
    for i in 1..n - 1 {
        let (w0, w1) = (2.0 * h[i] + h[i - 1], h[i] + 2.0 * h[i - 1]);
        m.push((w0 + w1) / (w0 / d[i - 1] + w1 / d[i]));
    }
    m.push(end(h[n - 2], h[n - 3], d[n - 2], d[n - 3]));
    m
}
