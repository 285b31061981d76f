//! The posterior laid open: its parameters and its density, for a general sampler to draw from what [`super::learn`] draws
//! from (`reference/nuts`).

use super::history::{Act, History};
use super::learned::LearnError;
use super::mode::{self, Mode};
use super::parameter::{Parameter, errors, parameters};
use super::posterior::{Posterior, quantity};
use super::unrecorded::{self, Hypothesis};
use crate::case::Case;
use crate::estimate::EstimateError;
use crate::quantity::Quantity;
use nalgebra::{Cholesky, DMatrix, DVector};
use water::{Celsius, Equilibria};

/// The posterior of a case, what nobody wrote down taken up as [`super::learn`] takes it up.
#[derive(Debug, Clone)]
pub struct Density {
    pub(super) history: History,
    pub(super) at: Equilibria,
    pub(super) parameters: Vec<Parameter>,
    pub(super) hypotheses: Vec<Hypothesis>,
    mode: DVector<f64>,
    /// Lower factor of the covariance that the curvature at the mode says.
    spread: DMatrix<f64>,
}

impl Density {
    /// The density of a case.
    ///
    /// # Errors
    /// As [`super::learn`].
    pub fn of(case: &Case) -> Result<Density, LearnError> {
        let (history, at) = past(case)?;
        let (parameters, hypotheses, mode, spread) = {
            let (posterior, mode, hypotheses) = found(&history, &at)?;
            let spread = Cholesky::new(mode.precision.inverse()).ok_or(LearnError::NoWater)?.unpack();
            (posterior.parameters, hypotheses, mode.scores, spread)
        };
        Ok(Density { history, at, parameters, hypotheses, mode, spread })
    }

    /// What is not known, in the order of the scores.
    pub fn parameters(&self) -> &[Parameter] {
        &self.parameters
    }

    /// The scores at a place that is said in standard deviations of the normal at the mode: its origin is the mode, and the
    /// posterior is about as wide in every direction there. The map is linear.
    ///
    /// # Panics
    /// If there are not as many figures as parameters.
    pub fn scores(&self, away: &[f64]) -> Vec<f64> {
        (&self.mode + &self.spread * DVector::from_column_slice(away)).as_slice().to_vec()
    }

    /// ln of the density at some scores (each a standard normal number before anything is read), without its constant;
    /// `None` where no water follows from them, which is a density of nothing.
    pub fn ln_density(&self, scores: &[f64]) -> Option<f64> {
        self.posterior().follow(scores).map(|o| o.ln_density)
    }

    /// The same with its gradient: the readings' slopes by differences, what lies between them and the density exactly (but for
    /// readings that are limits, which pull only where they are broken).
    pub fn with_gradient(&self, scores: &[f64]) -> Option<(f64, Vec<f64>)> {
        let posterior = self.posterior();
        let outcome = posterior.follow(scores)?;
        let scores = DVector::from_column_slice(scores);
        let slopes = mode::draw_lines(&posterior, &scores, &outcome);
        let pull = outcome.residuals.iter().map(|r| -r.weight * r.z * r.per_unit);
        let mut gradient = slopes.tr_mul(&DVector::from_iterator(slopes.nrows(), pull)) - scores;
        for of in posterior.errors() {
            let of_this = outcome.residuals.iter().zip(&self.history.observed).filter(|(_, o)| of.is_of(o));
            gradient[of.score] +=
                of_this.map(|(r, _)| (r.weight * r.z * r.z - 1.0) * r.of_kit * of.ln_sd).sum::<f64>();
        }
        Some((outcome.ln_density, gradient.as_slice().to_vec()))
    }

    /// A gradient by scores as one by the figures of [`Self::scores`].
    ///
    /// # Panics
    /// If there are not as many figures as parameters.
    pub fn gradient_away(&self, gradient: &[f64]) -> Vec<f64> {
        self.spread.tr_mul(&DVector::from_column_slice(gradient)).as_slice().to_vec()
    }

    /// Of some quantities now, at some scores; `None` where no water follows from them.
    pub fn now(&self, scores: &[f64], quantities: &[Quantity]) -> Option<Vec<f64>> {
        let mut now = self.posterior().follow(scores)?.now;
        quantities.iter().map(|q| quantity(*q, &mut now, &self.at)).collect()
    }

    fn posterior(&self) -> Posterior<'_> {
        let plain = Posterior::new(&self.history, &self.at, self.parameters.clone());
        unrecorded::taken_up(plain, &self.hypotheses)
    }
}

/// The past of a case, and its constants. Where it leads to no water (months of chlorine were written down and the base that was given
/// against its acid was not, so that no tub is such that any alkalinity would be left), base went in without an entry.
///
/// # Errors
/// As [`super::learn`].
pub(super) fn past(case: &Case) -> Result<(History, Equilibria), LearnError> {
    let mut history = History::of(case)?;
    let wrong = |error| LearnError::Estimate(EstimateError::Water { what: "tub water", error });
    let at = Equilibria::at(Celsius(history.temperature_c)).map_err(wrong)?;
    let has_water = |h: &History| mode::start_from_afar(&Posterior::new(h, &at, parameters(h))).is_some();
    if !has_water(&history) {
        history.base_mg_l_per_day = history.acid_of_chlorine_mg_l_per_day();
        if history.base_mg_l_per_day.is_none() || !has_water(&history) {
            return Err(too_much(case, &history, &at));
        }
    }
    Ok((history, at))
}

/// Which dose it is after which no water is left, if it is one.
fn too_much(case: &Case, history: &History, at: &Equilibria) -> LearnError {
    let fails = |acts: usize| {
        let mut some = Posterior::new(history, at, parameters(history));
        some.acts.truncate(acts);
        mode::start_from_afar(&some).is_none()
    };
    let first = (1..=history.acts.len()).find(|acts| fails(*acts));
    match first.and_then(|acts| history.acts.get(acts - 1)) {
        Some((at_h, Act::Dose { product, .. })) => LearnError::TooMuch {
            product: case.shelf.get(*product).map_or(String::new(), |p| p.name.clone()),
            days_ago: (history.now_h - at_h) / 24.0,
        },
        _ => LearnError::NoWater,
    }
}

/// The posterior with what nobody wrote down, and its mode.
pub(super) fn found<'a>(
    history: &'a History,
    at: &'a Equilibria,
) -> Result<(Posterior<'a>, Mode, Vec<Hypothesis>), LearnError> {
    // What stands out is judged by what kits promise: taken to be a bad one, a kit would explain anything.
    let posterior = Posterior::new(history, at, parameters(history));
    let first = mode::find_from_afar(&posterior).ok_or(LearnError::NoWater)?;
    let (posterior, first, hypotheses) = unrecorded::search(posterior, first);
    let (posterior, mode) = with_errors(posterior, first).ok_or(LearnError::NoWater)?;
    Ok((posterior, mode, hypotheses))
}

/// The same where it is not known how far readings err, with the mode there.
pub(super) fn with_errors<'a>(mut posterior: Posterior<'a>, first: Mode) -> Option<(Posterior<'a>, Mode)> {
    let before = posterior.parameters.len();
    posterior.parameters.extend(errors(posterior.history));
    let all = posterior.parameters.len();
    let start = first.scores.resize_vertically(all, 0.0);
    let slopes = mode::with_more(&posterior, &start, &first.slopes, before)?;
    let mode = mode::find_errors(&mut posterior, start, slopes)?;
    Some((posterior, mode))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::learn::against_nuts::case;

    /// By central differences of the density, away from the mode; with a probe and without.
    #[test]
    fn its_gradient_is_the_densitys() {
        for name in ["hand_dosed", "salt_cell_probe"] {
            its_gradient_is_the_densitys_of(name);
        }
    }

    fn its_gradient_is_the_densitys_of(name: &str) {
        let density = Density::of(&case(name)).unwrap();
        let n = density.parameters().len();
        let scores = density.scores(&vec![0.7; n]);
        let (here, gradient) = density.with_gradient(&scores).unwrap();
        assert_eq!(Some(here), density.ln_density(&scores));
        for i in 0..n {
            let at = |by: f64| {
                let mut moved = scores.clone();
                moved[i] += by;
                density.ln_density(&moved).unwrap()
            };
            let difference = (at(1e-3) - at(-1e-3)) / 2e-3;
            let name = &density.parameters()[i].name;
            assert!(
                (gradient[i] - difference).abs() < 0.01 * (1.0 + difference.abs()),
                "{name:?}: {gradient:?}"
            );
        }
    }

    /// Two months of acid from chlorine, and the base that was given against it not in the book: the prior's middle has no water.
    #[test]
    fn a_book_that_would_use_up_all_alkalinity_is_learnt_all_the_same() {
        let mut text = String::from(
            "[tub]\nvolume_l = 1000\nregime = \"chlorine\"\nplace = \"home\"\n\
             [source_water]\nph = 7.6\ntotal_alkalinity_mg_l_caco3 = 70\ncalcium_hardness_mg_l_caco3 = 80\n\
             [[shelf]]\nchemical = \"dichlor\"\nname = \"quick\"\navailable_chlorine_percent = 56\n\
             [[event]]\nat = 2026-03-01T08:00:00Z\nkind = \"fill\"\n",
        );
        for day in 0..60 {
            let date = format!("2026-{:02}-{:02}", 3 + day / 28, 1 + day % 28);
            text += &format!("[[dose]]\nat = {date}T18:00:00Z\nproduct = \"quick\"\nmass_g = 6\n");
            if day % 10 == 9 {
                text += &format!(
                    "[[reading]]\nat = {date}T17:00:00Z\nquantity = \"total_alkalinity\"\nvalue = 65\nmethod = \"photometer\"\n"
                );
            }
        }
        let case = crate::wire::case::CaseText::parse(text.as_bytes(), "test").finish(None).expect("a case");
        let history = History::of(&case).unwrap();
        let at = Equilibria::at(Celsius(history.temperature_c)).unwrap();
        let posterior = Posterior::new(&history, &at, parameters(&history));
        let middle = vec![0.0; posterior.parameters.len()];
        assert!(posterior.follow(&middle).is_none(), "the middle has a water: this tests nothing");
        let [low, _, high] = crate::learn::learn(&case, 1).unwrap().now(Quantity::TotalAlkalinity).unwrap();
        assert!(low < 65.0 && 40.0 < high, "{low} {high}");
    }
}
