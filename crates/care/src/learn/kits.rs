//! The kits as a set of scores has them: how far each errs against what it promises, and what it reads too much.
//!
//! A kit promises an error; in this hand, at this age, with this reagent, it errs more or less than that. How much is one factor for
//! whoever reads (the same hand reads all of them) and one for each kit. It is on the readings' own errors and on the bias that they
//! share alike: who fills samples badly fills them badly in both senses. A probe's figures are left out of it: its own errors
//! say nothing of its offset.

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
            // Of a kit that has no such parameter, a probe, the promise is kept to.
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
