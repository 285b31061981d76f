//! Kits as they really are in a game: what the water is, what this kit in this hand shows of it.
//!
//! The printed facts of a kit (its marks, its drops, the ends of its scale) are `care`'s; its errors are not. They are
//! drawn here from other distributions than those that `care` assumes: two-sided exponentials instead of normal errors, a
//! reagent and an eye that are off in the same direction for a whole game, drops that are never too few, and slips.

use crate::chance::{Chance, For};
use crate::difficulty::Spread;
use crate::error::PracticeError;
use crate::truth::Truth;
use care::case::Raw;
use care::method::{BUILT_IN, Kind, Method, Scale, Step};
use care::quantity::Quantity as Q;
use tub::State;
use water::Equilibria;
use water::titration::{ALKALINITY_END_POINT, Dechlorination, titrated_alkalinity};
use water::units::{hardness_mg_l_caco3_from_mol_kg, mg_l_caco3_from_eq_kg, mg_l_from_mol_kg, molar_mass};

/// What a kit reads, by which method, and how it errs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Kit {
    /// What it reads.
    pub quantity: Q,
    /// The method's id.
    pub method: &'static str,
    error: KitError,
}

/// How a kit errs at usual difficulty. All judgement, but where a source is named.
#[derive(Debug, Clone, Copy, PartialEq)]
enum KitError {
    /// By so much: the mean of a reading's own two-sided exponential error; and of a shift that all its readings share
    /// (triangle about 0, to 2.5 times that).
    By { own: f64, shared: f64 },
    /// By such a share of the value, likewise.
    Share { own: f64, shared: f64 },
    /// Drops: a sample filled wrong by such a share, a reagent of such a strength, and one drop too many this often.
    Drops { own: f64, shared: f64, one_more: f64 },
}
use KitError::{By, Drops, Share};

const fn kit(quantity: Q, method: &'static str, error: KitError) -> Kit {
    Kit { quantity, method, error }
}

/// The kit box. The first kit of a quantity is the one meant if no method is named.
pub const KITS: [Kit; 12] = [
    kit(Q::Ph, "comparator", By { own: 0.07, shared: 0.06 }),
    kit(Q::FreeChlorine, "fas-dpd-0.2", Drops { own: 0.03, shared: 0.03, one_more: 0.2 }),
    kit(Q::CombinedChlorine, "fas-dpd-0.2", Drops { own: 0.03, shared: 0.03, one_more: 0.25 }),
    kit(Q::TotalAlkalinity, "drop-titration-10", Drops { own: 0.03, shared: 0.03, one_more: 0.25 }),
    kit(Q::CalciumHardness, "drop-titration-10", Drops { own: 0.03, shared: 0.04, one_more: 0.35 }),
    kit(Q::CyanuricAcid, "turbidity-tube", Share { own: 0.12, shared: 0.08 }),
    kit(Q::Salt, "salt-drop-titration-200", Drops { own: 0.02, shared: 0.03, one_more: 0.25 }),
    kit(Q::Temperature, "thermometer", By { own: 0.2, shared: 0.4 }),
    kit(Q::FreeChlorine, "comparator", Share { own: 0.12, shared: 0.08 }),
    // Murray & Lantagne 2015, J. Water Health 13:79 (abstract): strips err by 40.5 % in the mean, over 0 to 4 mg/L.
    kit(Q::FreeChlorine, "strip", Share { own: 0.3, shared: 0.2 }),
    kit(Q::Ph, "strip", By { own: 0.2, shared: 0.12 }),
    kit(Q::TotalAlkalinity, "strip", Share { own: 0.2, shared: 0.12 }),
];

/// A kit with its place in the box.
pub(crate) fn find(quantity: Q, method: Option<&str>) -> Option<(u8, &'static Kit)> {
    KITS.iter()
        .enumerate()
        .find(|(_, k)| k.quantity == quantity && method.is_none_or(|m| m == k.method))
        .and_then(|(i, k)| Some((u8::try_from(i).ok()?, k)))
}

/// The figure of a reading in the quantity's unit: drops times what one stands for.
pub fn figure(method: &str, raw: &Raw) -> f64 {
    match *raw {
        Raw::Value(v) | Raw::Below(v) | Raw::Above(v) => v,
        Raw::Drops(n) => match care::method::find(&[], method).map(|m| &m.kind) {
            Some(Kind::DropTitration { per_drop, .. }) => n * per_drop,
            _ => n,
        },
        Raw::ScaleUnits { units, .. } => units,
    }
}

/// What a quantity truly is. `None` for what this world does not follow.
pub(crate) fn true_value(quantity: Q, state: &State) -> Result<Option<f64>, PracticeError> {
    let t = &state.totals;
    Ok(Some(match quantity {
        Q::Ph => state.speciation()?.ph().0,
        Q::FreeChlorine => mg_l_from_mol_kg(t.free_chlorine, molar_mass::CL2),
        Q::CombinedChlorine => mg_l_from_mol_kg(state.combined_chlorine(), molar_mass::CL2),
        Q::TotalAlkalinity => {
            // The end point is read in a sample that has cooled to the room.
            let at = Equilibria::at(water::Celsius(25.0))?;
            let how = Dechlorination::Thiosulfate;
            mg_l_caco3_from_eq_kg(titrated_alkalinity(&at, t, ALKALINITY_END_POINT, how)?)
        }
        Q::CalciumHardness => hardness_mg_l_caco3_from_mol_kg(t.calcium),
        Q::CyanuricAcid => mg_l_from_mol_kg(t.cyanurate, molar_mass::CYANURIC_ACID),
        Q::Salt => mg_l_from_mol_kg(t.chloride, molar_mass::NACL),
        Q::Temperature => state.temperature.0,
        Q::SaturationIndex => state.calcite_saturation_index()?,
        _ => return Ok(None),
    }))
}

impl Kit {
    /// What it shows of a value. `seed`, `minute` and `nth` say which of all readings this is.
    pub(crate) fn shows(&self, value: f64, truth: &Truth, place: u8, minute: u32, nth: u8) -> Option<Raw> {
        self.shown(value, truth.seed, &truth.spread, place, For::Reading { minute, kit: place, nth })
    }

    fn shown(&self, value: f64, seed: u64, spread: &Spread, place: u8, reading: For) -> Option<Raw> {
        let method = BUILT_IN.iter().find(|m| m.id == self.method)?;
        let scale = method.scale(self.quantity)?;
        let shared = Chance::of(seed, For::Kit(place)).triangle(-2.5, 0.0, 2.5);
        let mut chance = Chance::of(seed, reading);
        // Drawn whatever becomes of them, so that each has its own place in the stream.
        let (own, slips, slip_up, more) = (chance.laplace(1.0), chance.unit(), chance.unit(), chance.unit());
        let slipped = slips < spread.slip;
        let direction = if slip_up < 0.5 { -1.0 } else { 1.0 };
        let figure = match self.error {
            By { own: each, shared: all } => value + spread.kit * (each * own + all * shared),
            Share { own: each, shared: all } | Drops { own: each, shared: all, .. } => {
                value * libm::exp(spread.kit * (each * own + all * shared))
            }
        };
        let figure = if slipped { figure + direction * slip(scale, figure) } else { figure };
        Some(match self.error {
            Drops { one_more, .. } => {
                let per_drop = match method.kind {
                    Kind::DropTitration { per_drop, .. } => per_drop,
                    _ => return None,
                };
                let too_many = if more < one_more * spread.kit { 1.0 } else { 0.0 };
                Raw::Drops((figure / per_drop).ceil().max(0.0) + too_many)
            }
            _ => on_marks(method, scale, figure),
        })
    }

    /// Mean distance of its readings from the water at usual difficulty, its marks and slips aside: what it claims.
    /// In the quantity's unit, or as a share of the value (`true`).
    pub fn mean_error(&self) -> (f64, bool) {
        // E|aL + bT| of a two-sided exponential with mean distance 1 and a triangle on ±2.5, by quadrature.
        let of = |own: f64, shared: f64| {
            const STEPS: i32 = 2000;
            let mut sum = 0.0;
            for i in 0..STEPS {
                let t = -2.5 + 5.0 * (f64::from(i) + 0.5) / f64::from(STEPS);
                let weight = (2.5 - t.abs()) / 6.25 * 5.0 / f64::from(STEPS);
                // E|aL + c| = |c| + a·exp(−|c|/a).
                let c = (shared * t).abs();
                sum += weight * (c + own * libm::exp(-c / own));
            }
            sum
        };
        match self.error {
            By { own, shared } => (of(own, shared), false),
            Share { own, shared } | Drops { own, shared, .. } => (of(own, shared), true),
        }
    }
}

/// A slip of two marks, or of a third.
fn slip(scale: &Scale, value: f64) -> f64 {
    (2.0 * scale.step.gap(value))
        .max(0.33 * value.abs())
        .min(0.5 * (scale.high - scale.low))
        .min(if scale.quantity == Q::Ph { 0.4 } else { f64::INFINITY })
}

/// The nearest mark, or beyond the end of the scale.
fn on_marks(method: &Method, scale: &Scale, figure: f64) -> Raw {
    if figure < scale.low {
        return Raw::Below(scale.low);
    }
    if figure > scale.high {
        return Raw::Above(scale.high);
    }
    let nearest = |marks: &[f64]| {
        marks
            .iter()
            .copied()
            .min_by(|a, b| (a - figure).abs().total_cmp(&(b - figure).abs()))
            .unwrap_or(figure)
    };
    let marked = match &scale.step {
        Step::Marks(marks) => nearest(marks),
        Step::Even(gap) if *gap > 0.0 => {
            // Through the inverse, so that 7.4 is 7.4 and not 7.4000000000000004.
            let per_unit = (1.0 / gap).round();
            if per_unit >= 1.0 {
                (figure * per_unit).round() / per_unit
            } else {
                (figure / gap).round() * gap
            }
        }
        Step::Even(_) => figure,
    };
    let colour = matches!(method.kind, Kind::Comparator | Kind::Strip | Kind::TurbidityTube);
    if colour && marked < scale.low { Raw::Below(scale.low) } else { Raw::Value(marked) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::difficulty::Difficulty;

    const N: u32 = 4000;

    /// Readings of one water by one kit over many games: their mean distance from it.
    fn mean_distance(kit: &Kit, place: u8, values: &[f64], spread: &Spread, as_share: bool) -> f64 {
        let mut sum = 0.0;
        for i in 0..N {
            let value = values[i as usize % values.len()];
            let reading = For::Reading { minute: i, kit: place, nth: 0 };
            let shown = match kit.shown(value, u64::from(i), spread, place, reading) {
                Some(Raw::Value(v) | Raw::Below(v) | Raw::Above(v)) => v,
                Some(Raw::Drops(n)) => n,
                other => panic!("{other:?}"),
            };
            sum += (shown - value).abs() / if as_share { value } else { 1.0 };
        }
        sum / f64::from(N)
    }

    fn calm() -> Spread {
        Spread { slip: 0.0, ..Difficulty::Usual.spread() }
    }

    #[test]
    fn a_kit_has_the_spread_that_it_claims() {
        // The middle of a fine scale, so that marks and ends hardly matter; 0.1 of a mark adds little to 0.09.
        for (q, method, values) in [
            (Q::Ph, "comparator", &[7.3, 7.4, 7.5, 7.6][..]),
            (Q::Temperature, "thermometer", &[30.0, 35.0][..]),
        ] {
            let (place, kit) = find(q, Some(method)).unwrap();
            let (claimed, as_share) = kit.mean_error();
            let found = mean_distance(kit, place, values, &calm(), as_share);
            assert!((found / claimed - 1.0).abs() < 0.1, "{method}: {found:.4}, claimed {claimed:.4}");
        }
        let (place, kit) = find(Q::CyanuricAcid, None).unwrap();
        let (claimed, as_share) = kit.mean_error();
        let found = mean_distance(kit, place, &[52.0, 58.0, 63.0, 67.0], &calm(), as_share);
        assert!((found / claimed - 1.0).abs() < 0.12, "tube: {found:.4}, claimed {claimed:.4}");
    }

    /// Murray & Lantagne 2015 (abstract): a mean error of 40.5 % for strips, over 0 to 4 mg/L of chlorine.
    #[test]
    fn strips_err_as_published() {
        let (place, kit) = find(Q::FreeChlorine, Some("strip")).unwrap();
        let values = [0.7, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0];
        let found = mean_distance(kit, place, &values, &calm(), true);
        assert!((0.30..0.50).contains(&found), "{found}");
    }

    #[test]
    fn drops_are_rather_too_many_than_too_few() {
        let (place, kit) = find(Q::TotalAlkalinity, None).unwrap();
        let spread = calm();
        let mut drops = 0.0;
        for i in 0..N {
            let reading = For::Reading { minute: i, kit: place, nth: 0 };
            match kit.shown(100.0, u64::from(i), &spread, place, reading) {
                Some(Raw::Drops(n)) => drops += n,
                other => panic!("{other:?}"),
            }
        }
        // 10 drops, the last of which is begun (half a drop), and one more a quarter of the time.
        let mean = drops / f64::from(N);
        assert!((10.6..10.9).contains(&mean), "{mean}");
    }

    #[test]
    fn every_kit_reads_what_it_says_and_shows_its_own_marks() {
        for (i, kit) in KITS.iter().enumerate() {
            let method = BUILT_IN.iter().find(|m| m.id == kit.method).expect(kit.method);
            let scale = method.scale(kit.quantity).expect(kit.method);
            let middle = 0.5 * (scale.low + scale.high.min(300.0));
            let place = u8::try_from(i).unwrap();
            let shown = kit.shown(middle, 3, &calm(), place, For::Reading { minute: 1, kit: place, nth: 0 });
            if let (Some(Raw::Value(v)), Step::Marks(marks)) = (shown, &scale.step) {
                assert!(marks.contains(&v), "{} shows {v}", kit.method);
            }
            assert!(shown.is_some(), "{}", kit.method);
        }
    }
}
