//! The kits as a set of scores has them: how far each errs against what it promises, and what it reads too much.
//!
//! A kit promises an error; in this hand, at this age, with this reagent, it errs more or less than that. How much is one factor for
//! whoever reads (the same hand reads all of them) and one for each kit. It is on the readings' own errors and on the bias that they
//! share alike: who fills samples badly fills them badly in both senses. Probes, meters and laboratories are taken at their word: what they err is
//! measured, and a probe's own errors say nothing of its offset.

use super::history::Observed;
use super::parameter::{Name, Parameter};

/// By their numbers.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Kits {
    bias: Vec<f64>,
    drift: Vec<f64>,
    error: Vec<f64>,
}

impl Kits {
    /// Of so many kits. Other parameters than theirs are passed over.
    pub(super) fn of<'p>(count: usize, scored: impl Iterator<Item = (&'p Parameter, f64)>) -> Kits {
        let mut kits = Kits { bias: vec![0.0; count], drift: vec![0.0; count], error: vec![0.0; count] };
        let mut hand = 1.0;
        for (p, score) in scored {
            let (list, kit) = match p.name {
                Name::Bias(kit) => (&mut kits.bias, kit),
                Name::Drift(kit) => (&mut kits.drift, kit),
                Name::KitError(kit) => (&mut kits.error, kit),
                Name::Hand => {
                    hand = p.at(score);
                    continue;
                }
                _ => continue,
            };
            if let Some(place) = list.get_mut(kit) {
                *place = p.at(score);
            }
        }
        for (error, bias) in kits.error.iter_mut().zip(&mut kits.bias) {
            // A kit that has no such parameter is taken at its word.
            *error = if *error > 0.0 { hand * *error } else { 1.0 };
            *bias *= *error;
        }
        kits
    }

    /// Its errors as a multiple of what it promises.
    pub(super) fn error(&self, kit: usize) -> f64 {
        self.error.get(kit).copied().unwrap_or(1.0)
    }

    /// What it reads too much at an hour.
    pub(super) fn bias(&self, kit: usize, at_h: f64) -> f64 {
        let of = |list: &[f64]| list.get(kit).copied().unwrap_or(0.0);
        of(&self.bias) + of(&self.drift) * at_h / (30.0 * 24.0)
    }

    /// What a reading's kit reads too much then.
    pub(super) fn bias_of(&self, observed: &Observed) -> f64 {
        self.bias(observed.kit, observed.at_h)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::learn::{Learned, learn};
    use crate::wire::case::CaseText;

    #[test]
    fn a_hand_is_on_its_own_kits_and_on_their_bias_and_on_no_meter() {
        let log = |name| Parameter::log(name, 1.0, 1.0);
        let plain = |name| Parameter::plain(name, 0.0, 2.0);
        let all = [
            log(Name::Hand),
            log(Name::KitError(0)),
            plain(Name::Bias(0)),
            plain(Name::Bias(1)),
            plain(Name::Drift(1)),
        ];
        let scores = [2.0_f64.ln(), 1.5_f64.ln(), 1.0, 1.0, 0.5];
        let kits = Kits::of(2, all.iter().zip(scores));
        assert!((kits.error(0) - 3.0).abs() < 1e-12 && (kits.bias(0, 720.0) - 6.0).abs() < 1e-12);
        assert!((kits.error(1) - 1.0).abs() < 1e-12 && (kits.bias(1, 720.0) - 3.0).abs() < 1e-12);
    }

    /// Ten alkalinities of a still water, so far to either side of the middle, with what the photometer's error is taken to be.
    fn scattered(by: f64) -> Learned {
        let mut text = String::from(
            "[tub]\nvolume_l = 1000\nregime = \"chlorine\"\nplace = \"home\"\n\
             [[shelf]]\nchemical = \"dichlor\"\nname = \"quick\"\n",
        );
        for day in 1..=10 {
            let value = if day % 2 == 0 { 100.0 + by } else { 100.0 - by };
            text += &format!(
                "[[reading]]\nat = 2026-03-{day:02}T18:00:00Z\nquantity = \"total_alkalinity\"\nvalue = {value}\nmethod = \"photometer\"\n"
            );
        }
        learn(&CaseText::parse(text.as_bytes(), "test").finish(None).expect("a case"), 1).unwrap()
    }

    #[test]
    fn a_kit_that_scatters_is_believed_less_and_one_that_does_not_more() {
        let error = |learned: &Learned| {
            let each: f64 = learned.draws.iter().map(|d| learned.kits(d).error(0).ln()).sum();
            (each / learned.draws.len() as f64).exp()
        };
        let width = |learned: &Learned| {
            let [low, _, high] = learned.now(crate::quantity::Quantity::TotalAlkalinity).unwrap();
            high - low
        };
        let (steady, wild) = (scattered(1.0), scattered(25.0));
        assert!(error(&steady) < 0.9 && error(&wild) > 1.6, "{} {}", error(&steady), error(&wild));
        assert!(width(&wild) > 1.5 * width(&steady), "{} {}", width(&wild), width(&steady));
    }
}
