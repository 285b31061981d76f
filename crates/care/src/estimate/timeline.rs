//! The entries in order of time, and what they do to a water.

use crate::band::Regime;
use crate::case::{Case, Entry, Happening, When};
use crate::chem::{linear, per_gram};
use crate::quantity::Quantity as Q;
use water::Totals;

/// What each entry does to a quantity, as time goes on.
pub(super) struct Timeline<'a> {
    case: &'a Case,
    pub(super) entries: Vec<(When, &'a Entry)>,
    pub(super) now: When,
    pub(super) last_fill: Option<When>,
    source: Option<Totals>,
}

impl<'a> Timeline<'a> {
    pub(super) fn new(case: &'a Case, source: Option<Totals>) -> Self {
        let latest = case.entries.iter().filter_map(|e| e.at).max();
        let now = case.now.or(latest).unwrap_or(When(0));
        let mut entries: Vec<_> =
            case.entries.iter().map(|e| (e.at.unwrap_or(now), e)).filter(|(at, _)| *at <= now).collect();
        entries.sort_by_key(|(at, _)| *at);
        let last_fill =
            entries.iter().filter(|(_, e)| e.what == Happening::Fill).map(|(at, _)| *at).next_back();
        Timeline { case, entries, now, last_fill, source }
    }

    fn after(&self, from: Option<When>) -> impl Iterator<Item = &Entry> {
        self.entries.iter().filter(move |(at, _)| from.is_none_or(|f| *at > f)).map(|(_, e)| *e)
    }

    fn dose(&self, product: usize, mass_g: f64) -> Totals {
        let bromine = self.case.tub.regime == Regime::Bromine;
        let Some(product) = self.case.shelf.get(product) else { return Totals::default() };
        Totals::default().plus(&per_gram(product, bromine), mass_g / self.case.tub.volume_l)
    }

    /// Totals carried through the entries after `from`.
    pub(super) fn carry(&self, mut totals: Totals, from: Option<When>) -> Totals {
        for entry in self.after(from) {
            match entry.what {
                Happening::Dose { product, mass_g } => totals = totals.plus(&self.dose(product, mass_g), 1.0),
                Happening::TopUp { volume_l } => {
                    if let Some(source) = &self.source {
                        totals = totals.plus(source, volume_l / self.case.tub.volume_l);
                    }
                }
                Happening::Replaced { share } => {
                    if let Some(source) = &self.source {
                        totals = totals.mixed_with(source, share);
                    }
                }
                _ => {}
            }
        }
        totals
    }

    /// A linear quantity's figure carried from a reading to now. Combined chlorine only thins out.
    pub(super) fn carry_figure(&self, q: Q, figure: f64, from: When) -> f64 {
        let mut value = figure;
        for entry in self.after(Some(from)) {
            let of_source = |source: &Totals| linear(q, source).unwrap_or(0.0);
            match entry.what {
                Happening::Dose { product, mass_g } => {
                    value += linear(q, &self.dose(product, mass_g)).unwrap_or(0.0);
                }
                Happening::TopUp { volume_l } => {
                    value += self.source.as_ref().map_or(0.0, of_source) * volume_l / self.case.tub.volume_l;
                }
                Happening::Replaced { share } => {
                    value = (1.0 - share) * value + share * self.source.as_ref().map_or(0.0, of_source);
                }
                _ => {}
            }
        }
        value
    }

    /// Share of the water that has stayed since `from`.
    pub(super) fn kept_since(&self, from: When) -> f64 {
        self.after(Some(from))
            .map(|e| match e.what {
                Happening::Replaced { share } => 1.0 - share,
                _ => 1.0,
            })
            .product()
    }

    /// When a quantity was last read.
    pub(super) fn latest_reading_of(&self, q: Q) -> Option<When> {
        self.entries
            .iter()
            .rev()
            .find(|(_, e)| matches!(&e.what, Happening::Reading(r) if r.quantity == q))
            .map(|(at, _)| *at)
    }
}
