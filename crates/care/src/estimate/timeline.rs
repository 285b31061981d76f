//! The entries in order of time, and what they do to a water.

use crate::band::Regime;
use crate::case::{Case, Entry, Happening, When};
use crate::chem::{linear, per_gram, spent};
use crate::quantity::Quantity as Q;
use water::Totals;

/// Hours after which a dose has settled: its chlorine or monopersulfate has been used, and the carbon dioxide that it set
/// free has left (common practice: a day).
pub(super) const SETTLED_HOURS: f64 = 24.0;

/// What each entry does to a quantity, as time goes on.
pub(crate) struct Timeline<'a> {
    case: &'a Case,
    pub(crate) entries: Vec<(When, &'a Entry)>,
    pub(crate) now: When,
    pub(crate) last_fill: Option<When>,
    source: Option<Totals>,
}

impl<'a> Timeline<'a> {
    pub(crate) fn new(case: &'a Case, source: Option<Totals>) -> Self {
        let latest = case.entries.iter().filter_map(|e| e.at).max();
        let now = case.now.or(latest).unwrap_or(When(0));
        let mut entries: Vec<_> =
            case.entries.iter().map(|e| (e.at.unwrap_or(now), e)).filter(|(at, _)| *at <= now).collect();
        entries.sort_by_key(|(at, _)| *at);
        let last_fill =
            entries.iter().filter(|(_, e)| e.what == Happening::Fill).map(|(at, _)| *at).next_back();
        Timeline { case, entries, now, last_fill, source }
    }

    fn after(&self, from: Option<When>) -> impl Iterator<Item = (When, &Entry)> {
        self.entries.iter().filter(move |(at, _)| from.is_none_or(|f| *at > f)).map(|(at, e)| (*at, *e))
    }

    fn has_settled(&self, at: When) -> bool {
        self.now.hours_since(at) > SETTLED_HOURS
    }

    /// What a dose has left in the water by now.
    fn dose(&self, at: When, product: usize, mass_g: f64) -> Totals {
        let dosed = self.poured(product, mass_g);
        if self.has_settled(at) { spent(dosed) } else { dosed }
    }

    fn poured(&self, product: usize, mass_g: f64) -> Totals {
        let bromine = self.case.tub.regime == Regime::Bromine;
        let Some(product) = self.case.shelf.get(product) else { return Totals::default() };
        Totals::default().plus(&per_gram(product, bromine), mass_g / self.case.tub.volume_l)
    }

    /// What each dose since `from` brought of a quantity as it was poured, with its age in days.
    pub(super) fn dosed_since(&self, q: Q, from: When) -> impl Iterator<Item = (f64, f64)> {
        self.after(Some(from)).filter_map(move |(at, entry)| match entry.what {
            Happening::Dose { product, mass_g } => {
                let by = linear(q, &self.poured(product, mass_g))?;
                Some((self.now.hours_since(at) / 24.0, by))
            }
            _ => None,
        })
    }

    /// Monopersulfate dosed to this fill up to a moment: how many hours before it, and what the water replaced since has
    /// left of each, mol/kg.
    pub(super) fn monopersulfate_before(&self, moment: When) -> Vec<(f64, f64)> {
        let bromine = self.case.tub.regime == Regime::Bromine;
        let mut doses = Vec::new();
        for (at, entry) in self.entries.iter().filter(|(at, _)| *at <= moment) {
            match entry.what {
                Happening::Dose { product, mass_g } => {
                    let each =
                        self.case.shelf.get(product).map_or(0.0, |p| per_gram(p, bromine).monopersulfate);
                    if each > 0.0 {
                        doses.push((moment.hours_since(*at), each * mass_g / self.case.tub.volume_l));
                    }
                }
                Happening::Replaced { share } => doses.iter_mut().for_each(|(_, mol)| *mol *= 1.0 - share),
                Happening::Fill => doses.clear(),
                _ => {}
            }
        }
        doses
    }

    /// What the doses since `from` have moved a quantity by, up and down added up; only `settled` ones, or all.
    pub(super) fn moved_since(&self, q: Q, from: When, only_settled: bool) -> f64 {
        self.after(Some(from))
            .filter(|(at, _)| !only_settled || self.has_settled(*at))
            .filter_map(|(at, entry)| match entry.what {
                Happening::Dose { product, mass_g } => linear(q, &self.dose(at, product, mass_g)),
                _ => None,
            })
            .map(f64::abs)
            .sum()
    }

    /// Totals carried through the entries after `from`.
    pub(super) fn carry(&self, mut totals: Totals, from: Option<When>) -> Totals {
        for (at, entry) in self.after(from) {
            match entry.what {
                Happening::Dose { product, mass_g } => {
                    totals = totals.plus(&self.dose(at, product, mass_g), 1.0);
                }
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
        for (at, entry) in self.after(Some(from)) {
            let of_source = |source: &Totals| linear(q, source).unwrap_or(0.0);
            match entry.what {
                Happening::Dose { product, mass_g } => {
                    value += linear(q, &self.dose(at, product, mass_g)).unwrap_or(0.0);
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
            .map(|(_, e)| match e.what {
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
