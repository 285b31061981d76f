//! An amount in the owner's own measure: "2 capfuls and a quarter, level".

use crate::amount::Units;
use crate::case::{MeasureKind, Product};
use crate::text::{Text, say};

/// The amount in words. `volume_ml` for liquids measured in a jug.
pub(crate) fn measure_text(product: &Product, mass_g: f64, units: Units) -> Text {
    let m = &product.measure;
    let count = mass_g / m.grams_each;
    match m.kind {
        MeasureKind::Scale => {
            say!("care-on-the-scale", "{mass} on the scale", mass = Text::figures(units.mass(mass_g)))
        }
        MeasureKind::Millilitres => {
            let ml = product.density_g_ml.map_or(count, |d| mass_g / d);
            say!("care-in-the-jug", "{volume} in the jug", volume = Text::figures(units.liquid(ml)))
        }
        MeasureKind::Tablet => counted(count, trim(count), Noun::Tablet),
        MeasureKind::Capful => say!("care-level", "{amount}, level", amount = parts(count, Noun::Capful)),
        MeasureKind::Scoop => say!("care-level", "{amount}, level", amount = parts(count, Noun::Scoop)),
    }
}

/// Whole if it is, else one decimal.
fn trim(v: f64) -> String {
    if (v - v.round()).abs() < 0.05 { format!("{:.0}", v) } else { format!("{v:.1}") }
}

fn is_one(count: f64) -> bool {
    (count - 1.0).abs() < 1e-6
}

#[derive(Clone, Copy)]
enum Noun {
    Tablet,
    Capful,
    Scoop,
}

fn counted(count: f64, written: String, noun: Noun) -> Text {
    let n = Text::figures(written);
    match (noun, is_one(count)) {
        (Noun::Tablet, true) => say!("care-tablet", "{n} tablet", n = n),
        (Noun::Tablet, false) => say!("care-tablets", "{n} tablets", n = n),
        (Noun::Capful, true) => say!("care-capful", "{n} capful", n = n),
        (Noun::Capful, false) => say!("care-capfuls", "{n} capfuls", n = n),
        (Noun::Scoop, true) => say!("care-scoop", "{n} scoop", n = n),
        (Noun::Scoop, false) => say!("care-scoops", "{n} scoops", n = n),
    }
}

/// Quarters in words, as one says them at the tubside.
fn parts(count: f64, noun: Noun) -> Text {
    let quarters = (count * 4.0).round();
    if (count * 4.0 - quarters).abs() > 0.02 {
        return counted(count, trim_two(count), noun);
    }
    let n = (quarters / 4.0).floor();
    let whole = || counted(n, format!("{n:.0}"), noun);
    let scoop = matches!(noun, Noun::Scoop);
    match (n as i64, (quarters as i64).rem_euclid(4), scoop) {
        (0, 0, false) => say!("care-no-capful", "no capful"),
        (0, 0, true) => say!("care-no-scoop", "no scoop"),
        (0, 1, false) => say!("care-quarter-capful", "a quarter of a capful"),
        (0, 1, true) => say!("care-quarter-scoop", "a quarter of a scoop"),
        (0, 2, false) => say!("care-half-capful", "half a capful"),
        (0, 2, true) => say!("care-half-scoop", "half a scoop"),
        (0, _, false) => say!("care-three-quarters-capful", "three quarters of a capful"),
        (0, _, true) => say!("care-three-quarters-scoop", "three quarters of a scoop"),
        (_, 0, _) => whole(),
        (_, 1, _) => say!("care-and-a-quarter", "{whole} and a quarter", whole = whole()),
        (_, 2, _) => say!("care-and-a-half", "{whole} and a half", whole = whole()),
        _ => say!("care-and-three-quarters", "{whole} and three quarters", whole = whole()),
    }
}

fn trim_two(v: f64) -> String {
    format!("{v:.2}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quarters_are_said_as_people_say_them() {
        for (count, text) in [
            (0.25, "a quarter of a capful"),
            (0.5, "half a capful"),
            (0.75, "three quarters of a capful"),
            (1.0, "1 capful"),
            (1.5, "1 capful and a half"),
            (2.25, "2 capfuls and a quarter"),
            (7.0, "7 capfuls"),
        ] {
            assert_eq!(parts(count, Noun::Capful), text);
        }
    }
}
