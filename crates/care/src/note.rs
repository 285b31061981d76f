//! What was assumed while a case was read, as data: whoever prints it says it in the reader's units.

use crate::amount::Units;
use crate::text::{Text, figures, say};

/// Something assumed, or worth saying.
#[derive(Debug, Clone, PartialEq)]
pub enum Note {
    /// Words without an amount.
    Words(Text),
    /// A liquid's density, g/mL.
    Density(f64),
    /// A powder's weight in bulk, g/mL.
    Bulk(f64),
    /// What a level capful or scoop holds.
    Holds {
        /// "capful", "scoop".
        measure: String,
        /// Its volume.
        ml: f64,
        /// In bulk.
        bulk_g_ml: f64,
    },
    /// Weighed on a kitchen scale, to so many grams.
    Weighed {
        /// The finest.
        to_g: f64,
    },
    /// Measured in a jug, to so many millilitres.
    Poured {
        /// The finest.
        to_ml: f64,
    },
    /// Liquid chlorine that nobody gave the strength of.
    AvailableChlorine {
        /// As Cl2.
        g_l: f64,
    },
    /// What age has left of a liquid's chlorine.
    Aged {
        /// Of what it held when fresh.
        percent_left: f64,
        /// Its age.
        days: f64,
        /// Half of it is lost in so many days.
        half_life_days: f64,
    },
    /// A product that was dosed and is not on the shelf.
    TakenAsTypical {
        /// Its name.
        product: String,
        /// How.
        assumed: Vec<Note>,
    },
}

impl From<&str> for Note {
    fn from(words: &str) -> Note {
        Note::Words(words.into())
    }
}

impl From<String> for Note {
    fn from(words: String) -> Note {
        Note::Words(words.into())
    }
}

impl From<Text> for Note {
    fn from(words: Text) -> Note {
        Note::Words(words)
    }
}

impl Note {
    /// In words. A density is told as a multiple of water's where nobody counts in g/mL.
    pub fn said(&self, units: Units) -> Text {
        let per_ml = |g_ml: f64| match units {
            Units::Metric => figures!("{g_ml} g/mL"),
            Units::Us => say!("care-times-water", "{n} times water's", n = figures!("{g_ml}")),
        };
        match self {
            Note::Words(words) => words.clone(),
            Note::Density(g_ml) => say!(
                "care-note-density",
                "density {density} (typical of its strength)",
                density = per_ml(*g_ml)
            ),
            Note::Bulk(g_ml) => say!(
                "care-note-bulk",
                "density in bulk {density} (typical, from memory)",
                density = per_ml(*g_ml)
            ),
            Note::Holds { measure, ml, bulk_g_ml } => say!(
                "care-note-holds",
                "a level {measure} of {volume} holds {mass} (density in bulk {density}: typical, from memory; weigh one once)",
                measure = match measure.as_str() {
                    "capful" => say!("care-note-capful", "capful"),
                    "scoop" => say!("care-note-scoop", "scoop"),
                    other => Text::from(other),
                },
                volume = Text::figures(units.liquid(*ml)),
                mass = Text::figures(units.mass(ml * bulk_g_ml)),
                density = per_ml(*bulk_g_ml)
            ),
            Note::Weighed { to_g } => say!(
                "care-note-weighed",
                "weighed on a kitchen scale, to {mass}",
                mass = Text::figures(units.mass(*to_g))
            ),
            Note::Poured { to_ml } => say!(
                "care-note-poured",
                "measured in a jug, to {volume}",
                volume = Text::figures(units.liquid(*to_ml))
            ),
            Note::AvailableChlorine { g_l } => {
                let strength = match units {
                    Units::Metric => figures!("{g_l} g/L"),
                    Units::Us => say!(
                        "care-percent-by-volume",
                        "{percent} % by volume",
                        percent = figures!("{}", g_l / 10.0)
                    ),
                };
                say!(
                    "care-note-available",
                    "{strength} available chlorine (typical of trade hypochlorite when fresh)",
                    strength = strength
                )
            }
            Note::Aged { percent_left, days, half_life_days } => {
                let between = match units {
                    Units::Metric => "20–25 °C",
                    Units::Us => "68–77 °F",
                };
                say!(
                    "care-note-aged",
                    "{percent} % of its chlorine is left after {days} days (half is lost in about {half} days at {between}: common practice)",
                    percent = figures!("{percent_left:.0}"),
                    days = figures!("{days:.0}"),
                    half = figures!("{half_life_days:.0}"),
                    between = Text::figures(between)
                )
            }
            Note::TakenAsTypical { product, assumed } => {
                let how: Vec<Text> = assumed.iter().map(|a| a.said(units)).collect();
                say!(
                    "care-note-typical",
                    "{product} was dosed and is not on the shelf: it is taken as typical ({how}).",
                    product = Text::name(product.clone()),
                    how = Text::joined(how, "; ")
                )
            }
        }
    }
}
