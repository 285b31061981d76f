//! Readings that no dose answers, judged all the same: turbidity, redox potential, dissolved solids.
//!
//! In: what was read, the bands, and what public codes say (`band::also_said`). Out: findings with their sources.
//! Left out: deciding by them. Redox proves nothing by itself, and dissolved solids stand in for bathers' waste.

use super::report::Report;
use crate::band::{Place, Regime, Said, also_said};
use crate::estimate::Level;
use crate::finding::{Finding, Weight};
use crate::quantity::Quantity as Q;
use crate::text::{Text, say};
use water::Totals;
use water::units::{mg_l_caco3_from_eq_kg, molar_mass};

impl Report<'_> {
    /// Turbidity above its band: in a public tub nobody bathes.
    pub(crate) fn too_turbid(&self) -> Option<(&Level, f64)> {
        let level = self.read(Q::Turbidity)?;
        let (_, band) = self.bands.iter().find(|(q, _)| *q == Q::Turbidity)?;
        (level.value > band.high).then_some((level, band.high))
    }

    /// What these readings say; redox and dissolved solids are judged where others bathe by a code.
    pub(crate) fn other_readings(&self) -> Vec<Finding> {
        let public = self.case.tub.place == Place::Public;
        let mut found: Vec<Finding> = self.turbidity().into_iter().collect();
        if public {
            found.extend(self.redox());
            found.extend(self.dissolved_solids());
        }
        found
    }

    fn read(&self, q: Q) -> Option<&Level> {
        self.est.level(q).filter(|l| l.known)
    }

    fn turbidity(&self) -> Option<Finding> {
        let (level, high) = self.too_turbid()?;
        let (_, band) = self.bands.iter().find(|(q, _)| *q == Q::Turbidity)?;
        let public = self.case.tub.place == Place::Public;
        let close = if public {
            say!("care-close-the-tub", "Close the tub")
        } else {
            say!("care-nobody-bathes", "Nobody bathes")
        };
        Some(Finding {
            weight: if public { Weight::Safety } else { Weight::Doubt },
            quantities: vec![Q::Turbidity],
            what: say!(
                "care-turbid",
                "Turbidity of {value} is above {high} ({source}): what lies under water may not be seen, and germs hide from the disinfectant.",
                value = Text::figures(self.case.units.figure(Q::Turbidity, level.value)),
                high = Text::figures(self.case.units.figure(Q::Turbidity, high)),
                source = band.source.clone()
            ),
            advice: if self.est.may_still_clear {
                say!(
                    "care-turbid-fill-advice",
                    "{close} until the suction covers are seen sharply from the rim with the jets off (common practice) and the reading is inside. After a fill \
                     cloudiness usually clears within about 24 hours with the filter running (common practice): look again tomorrow, and if it is still \
                     there clean the filter and look for the cause; the local code comes first.",
                    close = close
                )
            } else {
                say!(
                    "care-turbid-advice",
                    "{close} until the suction covers are seen sharply from the rim with the jets off (common practice) and the reading is inside; filter, \
                 clean the filter, look for the cause; the local code comes first.",
                    close = close
                )
            },
        })
    }

    fn redox(&self) -> Option<Finding> {
        let level = self.read(Q::Redox)?;
        let asked: Vec<&Said> = self.also_said(Q::Redox).iter().filter(|s| s.low.is_some()).collect();
        let (unmet, met): (Vec<&Said>, Vec<&Said>) =
            asked.into_iter().partition(|s| s.low.is_some_and(|low| level.value < low));
        let figure = Text::figures(self.case.units.figure(Q::Redox, level.value));
        let (weight, what) = match (&unmet[..], &met[..]) {
            ([], met) => (
                Weight::Note,
                say!(
                    "care-redox-met",
                    "Redox potential of {figure} meets what is asked: {met}.",
                    figure = figure,
                    met = self.at_least(met)
                ),
            ),
            (unmet, []) => (
                Weight::Safety,
                say!(
                    "care-redox-unmet",
                    "Redox potential of {figure} is below what is asked: {unmet}.",
                    figure = figure,
                    unmet = self.at_least(unmet)
                ),
            ),
            (unmet, met) => (
                Weight::Doubt,
                say!(
                    "care-redox-between",
                    "Redox potential of {figure} is below what some ask: {unmet}; it meets what others do: {met}.",
                    figure = figure,
                    unmet = self.at_least(unmet),
                    met = self.at_least(met)
                ),
            ),
        };
        Some(Finding {
            weight,
            quantities: vec![Q::Redox],
            what,
            advice: say!(
                "care-redox-advice",
                "It is never a proof that stands alone: test free chlorine or bromine and pH by hand, and follow the local code; where these are \
                     right, clean the probe and set it again."
            ),
        })
    }

    /// "at least 720 mV: New South Wales (…)", each of them.
    fn at_least(&self, said: &[&Said]) -> Text {
        let each = said.iter().filter_map(|s| {
            let low = self.case.units.figure(Q::Redox, s.low?);
            Some(say!(
                "care-redox-at-least",
                "at least {low}: {who} ({source})",
                low = Text::figures(low),
                who = s.whom(self.case.units),
                source = s.source
            ))
        });
        Text::joined(each.collect(), "; ")
    }

    fn dissolved_solids(&self) -> Option<Finding> {
        let level = self.read(Q::DissolvedSolids)?;
        let rule = self.also_said(Q::DissolvedSolids).iter().find(|s| s.above_source)?;
        let most = rule.high?;
        let figure = |v: f64| Text::figures(self.case.units.figure(Q::DissolvedSolids, v));
        let said = say!(
            "care-who-source",
            "{who} ({source})",
            who = rule.whom(self.case.units),
            source = rule.source
        );
        let Some(source) = &self.est.source else {
            return Some(Finding {
                weight: Weight::Doubt,
                quantities: vec![Q::DissolvedSolids],
                what: say!(
                    "care-solids-unjudged",
                    "Dissolved solids of {value} cannot be judged: {said} counts what is above the source water's, which is not known.",
                    value = figure(level.value),
                    said = said
                ),
                advice: say!("care-give-analysis", "Give the source water's analysis."),
            });
        };
        let of_source = dissolved_solids_mg_l(source);
        // Salt that a cell needs is no waste.
        let salt = match self.case.tub.regime {
            Regime::SaltCell => (self.est.value(Q::Salt) - salt_mg_l(source)).max(0.0),
            Regime::HandDosedChlorine | Regime::Bromine => 0.0,
        };
        let rise = level.value - of_source - salt;
        let without_salt = if salt > 0.0 {
            say!("care-solids-salt-off", " once the {salt} of added salt is taken off", salt = figure(salt))
        } else {
            Text::default()
        };
        let over = rise > most;
        let parts = (figure(level.value), figure(rise.max(0.0)), figure(of_source), figure(most));
        let (value, rise, of_source, most) = parts;
        let what = if over {
            say!(
                "care-solids-more",
                "Dissolved solids of {value} are {rise} above the source water's (about {of_source}, from its ions){without_salt}: more than the {most} of {said}.",
                value = value,
                rise = rise,
                of_source = of_source,
                without_salt = without_salt,
                most = most,
                said = said
            )
        } else {
            say!(
                "care-solids-less",
                "Dissolved solids of {value} are {rise} above the source water's (about {of_source}, from its ions){without_salt}: within the {most} of {said}.",
                value = value,
                rise = rise,
                of_source = of_source,
                without_salt = without_salt,
                most = most,
                said = said
            )
        };
        Some(Finding {
            weight: if over { Weight::Doubt } else { Weight::Note },
            quantities: vec![Q::DissolvedSolids],
            what,
            advice: if over {
                say!(
                    "care-solids-over",
                    "Drain and refill, or as the local code says: they stand in for what bathers leave, which no product takes out."
                )
            } else {
                say!(
                    "care-solids-within",
                    "It excuses nothing else: where bathers, days since the fill or combined chlorine ask for fresh water, they do."
                )
            },
        })
    }

    fn also_said(&self, q: Q) -> &'static [Said] {
        also_said(q, self.case.tub.regime, self.case.tub.place)
    }
}

fn salt_mg_l(t: &Totals) -> f64 {
    1000.0 * t.chloride * molar_mass::NACL
}

/// Grams an equivalent of an anion that nobody analysed: between sulfate's 48 and nitrate's 62.
const UNNAMED_ANION_G_PER_EQ: f64 = 55.0;

/// What is left of a water when it is dried: its ions, bicarbonate as the carbonate that stays, 0.6 of the alkalinity as
/// CaCO3 (Standard Methods 1030 E, from memory).
fn dissolved_solids_mg_l(t: &Totals) -> f64 {
    let ions = t.calcium * molar_mass::CA
        + t.magnesium * molar_mass::MG
        + t.sodium * molar_mass::NA
        + t.potassium * molar_mass::K
        + t.chloride * molar_mass::CL
        + t.sulfate * molar_mass::SO4
        + t.inert_anion * UNNAMED_ANION_G_PER_EQ;
    1000.0 * ions + 0.6 * mg_l_caco3_from_eq_kg(t.alkalinity)
}
