//! What keeping a tub takes: every draw's tub inside its aims, in the shelf's own products and measures.

use crate::band::Band;
use crate::case::{Case, Product, Substance};
use crate::chem::per_gram;
use crate::learn::{Aims, Expected, Kept, Learned, three};
use crate::planner::amount_text;
use crate::quantity::Quantity as Q;
use crate::text::Text;
use water::Chemical as C;

/// Days of a week.
const DAYS: u32 = 7;

/// One product's part of a week.
#[derive(Debug, Clone, PartialEq)]
pub struct Need {
    /// The product: index into the shelf.
    pub product: usize,
    /// What it is called.
    pub name: String,
    /// Grams in a week: 5 %, 50 %, 95 %.
    pub grams: [f64; 3],
    /// The middle one in the owner's measure.
    pub measure_text: Text,
}

/// The shelf's product for a task: the first whose gram does it.
fn first(case: &Case, does: impl Fn(&Product) -> f64) -> Option<(usize, f64)> {
    case.shelf.iter().enumerate().map(|(i, p)| (i, does(p))).find(|(_, each)| *each > 0.0)
}

pub(super) fn week(
    case: &Case,
    learned: &Learned,
    expected: &Expected,
    bands: &[(Q, Band)],
    seed: u64,
) -> Vec<Need> {
    let band = |q: Q| bands.iter().find(|(of, _)| *of == q).map(|(_, b)| b);
    let (Some(chlorine), Some(ph)) = (band(Q::FreeChlorine), band(Q::Ph)) else { return Vec::new() };
    let middle = |b: &Band| 0.5 * (b.aim_low + b.aim_high);
    let aims = Aims { chlorine_mg_l: middle(chlorine), ph_high: ph.high, ph_low: ph.low, ph_aim: middle(ph) };
    doses(case, &learned.kept(DAYS, expected, &aims, seed))
}

/// What some draws take, in the shelf's own products.
pub(crate) fn doses(case: &Case, kept: &[Kept]) -> Vec<Need> {
    let is_acid =
        |p: &Product| matches!(p.substance, Substance::Chemical(C::SodiumBisulfate | C::HydrochloricAcid));
    let is_base =
        |p: &Product| matches!(p.substance, Substance::Chemical(C::SodiumCarbonate | C::SodiumBicarbonate));
    let gives_chlorine = |p: &Product| match p.substance {
        // Slow tablets are for pools: too acid and too lasting for a tub.
        Substance::Chemical(C::Trichlor) => 0.0,
        Substance::Chemical(_) => per_gram(p, false).free_chlorine,
        _ => 0.0,
    };
    let mut all = Vec::new();
    let mut add = |found: Option<(usize, f64)>, amounts: Vec<f64>| {
        let Some((product, each)) = found else { return };
        let grams = three(&amounts.into_iter().map(|a| a / each).collect::<Vec<f64>>());
        let Some(of) = case.shelf.get(product).filter(|_| grams[2] > 0.0) else { return };
        // In what can be measured: nobody fills three tenths of a cap.
        let smallest_g = of.measure.smallest_g();
        let measured_g = (grams[1] / smallest_g).round() * smallest_g;
        let measure_text = amount_text(of, measured_g, case.units);
        all.push(Need { product, name: of.name.clone(), grams, measure_text });
    };
    add(first(case, gives_chlorine), kept.iter().map(|k| k.chlorine_mol).collect());
    let acid = first(case, |p| if is_acid(p) { -per_gram(p, false).alkalinity } else { 0.0 });
    add(acid, kept.iter().map(|k| k.acid_eq).collect());
    let base = first(case, |p| if is_base(p) { per_gram(p, false).alkalinity } else { 0.0 });
    add(base, kept.iter().map(|k| k.base_eq).collect());
    all
}
