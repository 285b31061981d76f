//! An amount in the owner's own measure: "2 capfuls and a quarter, level".

use crate::case::{MeasureKind, Product};

/// The amount in words. `volume_ml` for liquids measured in a jug.
pub(crate) fn measure_text(product: &Product, mass_g: f64) -> String {
    let m = &product.measure;
    let count = mass_g / m.grams_each;
    match m.kind {
        MeasureKind::Scale => format!("{} on the scale", grams(mass_g)),
        MeasureKind::Millilitres => {
            let ml = product.density_g_ml.map_or(count, |d| mass_g / d);
            format!("{} in the jug", millilitres(ml))
        }
        MeasureKind::Tablet => format!("{} tablet{}", whole(count), plural(count)),
        MeasureKind::Capful => format!("{}, level", parts(count, "capful")),
        MeasureKind::Scoop => format!("{}, level", parts(count, "scoop")),
    }
}

fn grams(g: f64) -> String {
    if g >= 1000.0 { format!("{:.2} kg", g / 1000.0) } else { format!("{} g", trim(g)) }
}

fn millilitres(ml: f64) -> String {
    if ml >= 1000.0 { format!("{:.2} L", ml / 1000.0) } else { format!("{} mL", trim(ml)) }
}

/// Whole if it is, else one decimal.
fn trim(v: f64) -> String {
    if (v - v.round()).abs() < 0.05 { format!("{:.0}", v) } else { format!("{v:.1}") }
}

fn whole(count: f64) -> String {
    trim(count)
}

fn plural(count: f64) -> &'static str {
    if (count - 1.0).abs() < 1e-6 { "" } else { "s" }
}

/// Quarters in words, as one says them at the tubside.
fn parts(count: f64, noun: &str) -> String {
    let quarters = (count * 4.0).round();
    if (count * 4.0 - quarters).abs() > 0.02 {
        return format!("{} {noun}{}", trim_two(count), plural(count));
    }
    let n = (quarters / 4.0).floor();
    let part = match (quarters as i64).rem_euclid(4) {
        0 => None,
        1 => Some("a quarter"),
        2 => Some("a half"),
        _ => Some("three quarters"),
    };
    match (n as i64, part) {
        (0, Some("a half")) => format!("half a {noun}"),
        (0, Some(part)) => format!("{part} of a {noun}"),
        (0, None) => format!("no {noun}"),
        (_, Some(part)) => format!("{n:.0} {noun}{} and {part}", plural(n)),
        (_, None) => format!("{n:.0} {noun}{}", plural(n)),
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
            assert_eq!(parts(count, "capful"), text);
        }
    }
}
