//! A product of the shelf: from what a label says to moles in a gram. What the label leaves open is assumed and said.
//!
//! Typical purities and bulk densities are trade values from memory; they stand in `Product::assumed` whenever they are used.

use crate::case::{Measure, MeasureKind, Product, Substance};
use crate::note::Note;
use crate::wire::case_shape::{MeasureIn, ProductIn};
use water::Chemical as C;
use water::units::molar_mass::CL2;

/// What trade hypochlorite holds when fresh (typical, from memory).
const FRESH_HYPOCHLORITE_G_L: f64 = 125.0;
/// Days in which liquid hypochlorite of household strength loses half its chlorine at 20–25 °C: common practice, from memory.
const HYPOCHLORITE_HALF_LIFE_DAYS: f64 = 120.0;

/// What is wrong with a product: field, what, what is accepted.
pub(crate) type Fault = (&'static str, String, String);

/// What is typical of a chemical as it is sold.
struct Typical {
    /// Percent by mass, or of available chlorine for what is sold by it; `None` = strengths differ too much to guess.
    purity: Option<f64>,
    form: Option<&'static str>,
    /// Bulk density of a solid, g/mL.
    bulk: f64,
    liquid: bool,
}

fn typical(substance: Substance) -> Typical {
    let solid = |purity, form, bulk| Typical { purity: Some(purity), form, bulk, liquid: false };
    let liquid = Typical { purity: None, form: None, bulk: 1.0, liquid: true };
    match substance {
        Substance::MineralSalt => solid(100.0, None, 0.95),
        Substance::Sequestrant => Typical { purity: Some(100.0), bulk: 1.2, ..liquid },
        Substance::Chemical(c) => match c {
            C::SodiumBisulfate => solid(93.0, None, 1.4),
            C::HydrochloricAcid | C::HydrogenPeroxide | C::SodiumHypochlorite => liquid,
            C::SodiumHydroxide => Typical { liquid: false, ..liquid },
            C::SodiumCarbonate => solid(99.0, None, 1.05),
            C::SodiumBicarbonate => solid(99.0, None, 1.0),
            C::SodiumSesquicarbonate => solid(98.0, None, 0.9),
            C::Borax => solid(99.0, Some("decahydrate"), 0.8),
            C::BoricAcid => solid(99.0, None, 0.87),
            C::CalciumChloride => solid(77.0, None, 0.87),
            C::MagnesiumChloride => solid(98.0, Some("hexahydrate"), 0.9),
            C::SodiumChloride => solid(99.5, None, 1.2),
            C::PotassiumChloride => solid(98.0, None, 1.0),
            C::SodiumSulfate => solid(99.0, None, 1.4),
            C::MagnesiumSulfate => solid(98.0, Some("heptahydrate"), 1.0),
            C::CalciumHypochlorite => solid(65.0, None, 0.9),
            C::Dichlor => solid(56.0, None, 0.95),
            C::Trichlor => solid(90.0, None, 1.0),
            C::CyanuricAcid => solid(98.0, None, 0.8),
            C::Monopersulfate => solid(90.0, None, 1.15),
            C::SodiumThiosulfate => solid(99.0, Some("pentahydrate"), 1.0),
            C::SodiumBromide => solid(99.0, None, 1.6),
            C::CarbonDioxide => solid(100.0, None, 1.0),
        },
    }
}

/// The substance with this id on a shelf.
pub(crate) fn substance(id: &str) -> Option<Substance> {
    match id {
        "mineral-salt" => Some(Substance::MineralSalt),
        "sequestrant" => Some(Substance::Sequestrant),
        _ => C::from_id(id).map(Substance::Chemical),
    }
}

/// The product; faults are returned instead if the label cannot be right.
pub(crate) fn product(p: &ProductIn) -> Result<Product, Vec<Fault>> {
    let Some(substance) = substance(&p.chemical) else {
        return Err(Vec::new()); // the shape has told that it is not known
    };
    let usual = typical(substance);
    let mut assumed = Vec::new();
    let mut faults = Vec::new();
    let density_g_ml = density(p, substance, &usual, &mut assumed);
    let mut active = match strength(p, substance, &usual, density_g_ml, &mut assumed) {
        Ok(active) => active,
        Err(fault) => {
            faults.push(fault);
            0.0
        }
    };
    let mut companion = 0.0;
    if substance == Substance::Chemical(C::SodiumHypochlorite) {
        // Made from chlorine and soda: as much sodium chloride as hypochlorite. What ages away becomes chloride too.
        let fresh = active;
        if let Some(days) = p.age_days {
            active *= 0.5f64.powf(days / HYPOCHLORITE_HALF_LIFE_DAYS);
            assumed.push(Note::Aged {
                percent_left: 100.0 * active / fresh,
                days,
                half_life_days: HYPOCHLORITE_HALF_LIFE_DAYS,
            });
        }
        companion = 2.0 * fresh - active;
    } else if p.age_days.is_some() {
        faults.push((
            "age_days",
            format!("is given for {}", p.chemical),
            "it belongs to sodium-hypochlorite, which weakens with age".into(),
        ));
    }
    let measure = match measure(p.measure.as_ref(), density_g_ml, usual.bulk, &mut assumed) {
        Ok(measure) => measure,
        Err(fault) => {
            faults.push(fault);
            Measure { kind: MeasureKind::Scale, grams_each: 1.0, smallest: 5.0 }
        }
    };
    if !faults.is_empty() {
        return Err(faults);
    }
    Ok(Product {
        name: p.name.clone().unwrap_or_else(|| p.chemical.replace('-', " ")),
        substance,
        active_mol_per_g: active,
        companion_salt_mol_per_g: companion,
        density_g_ml,
        measure,
        price_per_kg: p.price_per_kg,
        stock_g: p.stock_g,
        age_days: p.age_days,
        assumed,
    })
}

/// Grams of a millilitre of a liquid.
fn density(p: &ProductIn, s: Substance, usual: &Typical, assumed: &mut Vec<Note>) -> Option<f64> {
    if p.density_g_ml.is_some() {
        return p.density_g_ml;
    }
    let guess = match s {
        Substance::Chemical(C::SodiumHypochlorite) => {
            match (p.available_chlorine_g_l, p.available_chlorine_percent) {
                (Some(g_l), _) => 1.0 + 0.0016 * g_l,
                // percent by mass w and density d: g/L = 10·w·d, d = 1 + 0.0016·10·w·d
                (None, Some(percent)) => 1.0 / (1.0 - 0.016 * percent.min(20.0)),
                (None, None) => 1.2,
            }
        }
        // 10 % 1.047, 20 % 1.098, 31.45 % 1.159, 37 % 1.184 (handbook values, from memory): 0.5 % per percent.
        Substance::Chemical(C::HydrochloricAcid) => 1.0 + 0.005 * p.purity_percent.unwrap_or(0.0),
        Substance::Chemical(C::HydrogenPeroxide) => 1.0 + 0.0038 * p.purity_percent.unwrap_or(0.0),
        Substance::Sequestrant => 1.2,
        _ => return None,
    };
    let guess = (guess * 1000.0).round() / 1000.0;
    debug_assert!(usual.liquid);
    assumed.push(Note::Density(guess));
    Some(guess)
}

/// Moles of active substance in a gram.
fn strength(
    p: &ProductIn,
    s: Substance,
    usual: &Typical,
    density_g_ml: Option<f64>,
    assumed: &mut Vec<Note>,
) -> Result<f64, Fault> {
    let Substance::Chemical(c) = s else {
        for (field, given) in [
            ("available_chlorine_percent", p.available_chlorine_percent.is_some()),
            ("available_chlorine_g_l", p.available_chlorine_g_l.is_some()),
            ("form", p.form.is_some()),
        ] {
            if given {
                return Err((field, "is given".into(), format!("it does not belong to {}", p.chemical)));
            }
        }
        // A blend is counted in grams of itself.
        return Ok(p.purity_percent.unwrap_or(100.0) / 100.0);
    };
    let chlorine_atoms = c.active_chlorine();
    let strengths = [
        ("available_chlorine_g_l", p.available_chlorine_g_l),
        ("available_chlorine_percent", p.available_chlorine_percent),
        ("purity_percent", p.purity_percent),
    ];
    let given: Vec<&str> = strengths.iter().filter(|(_, v)| v.is_some()).map(|(k, _)| *k).collect();
    if given.len() > 1 {
        return Err((
            given[1],
            format!("and {} are both given", given[0]),
            "one figure of strength is accepted".into(),
        ));
    }
    if chlorine_atoms == 0.0 && given.first().is_some_and(|k| *k != "purity_percent") {
        return Err((
            given[0],
            "is given".into(),
            format!("{} holds no chlorine: purity_percent is accepted", c.id()),
        ));
    }
    if p.available_chlorine_g_l.is_some() && c != C::SodiumHypochlorite {
        return Err((
            "available_chlorine_g_l",
            "is given".into(),
            "it belongs to sodium-hypochlorite, a liquid; available_chlorine_percent is accepted".into(),
        ));
    }
    let grams_per_mol = form_mass_g(p, c, usual)?;

    if chlorine_atoms > 0.0 && p.purity_percent.is_none() {
        let percent = match (p.available_chlorine_g_l, p.available_chlorine_percent, usual.purity) {
            (Some(g_l), ..) => g_l / (10.0 * density_g_ml.unwrap_or(1.2)),
            (_, Some(percent), _) => percent,
            (.., Some(percent)) => {
                assumed.push(format!("{percent} % available chlorine (typical)").into());
                percent
            }
            _ => {
                assumed.push(Note::AvailableChlorine { g_l: FRESH_HYPOCHLORITE_G_L });
                FRESH_HYPOCHLORITE_G_L / (10.0 * density_g_ml.unwrap_or(1.2))
            }
        };
        // Labels round up: half a point over what the pure substance holds is let through.
        let most = 100.0 * chlorine_atoms * CL2 / grams_per_mol;
        if percent > most + 0.7 {
            return Err((
                if p.available_chlorine_g_l.is_some() {
                    "available_chlorine_g_l"
                } else {
                    "available_chlorine_percent"
                },
                format!("comes to {percent:.1} % by mass"),
                format!("{most:.1} % at most is possible for {}", c.id()),
            ));
        }
        return Ok(percent / 100.0 / CL2 / chlorine_atoms);
    }

    let percent = match p.purity_percent.or(usual.purity) {
        Some(percent) => percent,
        None => {
            return Err((
                "purity_percent",
                "is missing".into(),
                format!(
                    "the strength of {} differs from label to label and is needed: percent by mass",
                    c.id()
                ),
            ));
        }
    };
    if p.purity_percent.is_none() {
        assumed.push(match usual.form {
            Some(form) if p.form.is_none() => format!("{percent} % pure, the {form} (typical)").into(),
            _ if c == C::CalciumChloride && p.form.is_none() => "flake with 77 % CaCl2 (typical)".into(),
            _ => format!("{percent} % pure (typical)").into(),
        });
    }
    if c == C::CalciumChloride && p.form.as_deref() == Some("dihydrate") && (70.0..=82.0).contains(&percent) {
        // Pure dihydrate is 75.5 % CaCl2, and flake is labelled "77 %": that figure counts CaCl2 without water.
        if p.purity_percent.is_some() {
            let taken = format!("{percent} % taken as CaCl2 without its water, as labels of flake print it");
            assumed.push(taken.into());
        }
        return Ok(percent / 100.0 / c.molar_mass_g());
    }
    Ok(percent / 100.0 / grams_per_mol)
}

/// Grams of the named form that carry one mole.
fn form_mass_g(p: &ProductIn, c: C, usual: &Typical) -> Result<f64, Fault> {
    let own_form = match c {
        C::Borax => "decahydrate",
        _ => "anhydrous",
    };
    let hydrates = c.hydrates();
    let by_chlorine = match (c, p.available_chlorine_percent) {
        // 55–56 % is the dihydrate, 60–64 % the anhydrous salt.
        (C::Dichlor, Some(percent)) => Some(if percent <= 58.0 { "dihydrate" } else { "anhydrous" }),
        (C::Dichlor, None) if p.purity_percent.is_none() => Some("dihydrate"),
        _ => None,
    };
    let form = match (p.form.as_deref(), by_chlorine) {
        (Some(form), _) => form,
        (None, Some(form)) => form,
        (None, None) if p.purity_percent.is_none() => usual.form.unwrap_or(own_form),
        (None, None) => own_form,
    };
    if form == own_form && (p.form.is_none() || !hydrates.is_empty()) {
        return Ok(c.molar_mass_g());
    }
    match hydrates.iter().find(|(name, _)| *name == form) {
        Some((_, grams)) => Ok(*grams),
        None => {
            let known: Vec<&str> =
                std::iter::once(own_form).chain(hydrates.iter().map(|(n, _)| *n)).collect();
            let accepted = if hydrates.is_empty() {
                format!("{} has one form alone: leave the field out", c.id())
            } else {
                format!("{} is accepted for {}", known.join(" or "), c.id())
            };
            Err(("form", format!("is \"{form}\""), accepted))
        }
    }
}

fn measure(
    m: Option<&MeasureIn>,
    density_g_ml: Option<f64>,
    bulk_g_ml: f64,
    assumed: &mut Vec<Note>,
) -> Result<Measure, Fault> {
    let Some(m) = m else {
        return Ok(match density_g_ml {
            Some(density) => {
                assumed.push(Note::Poured { to_ml: 5.0 });
                Measure { kind: MeasureKind::Millilitres, grams_each: density, smallest: 5.0 }
            }
            None => {
                assumed.push(Note::Weighed { to_g: 5.0 });
                Measure { kind: MeasureKind::Scale, grams_each: 1.0, smallest: 5.0 }
            }
        });
    };
    if m.grams.is_some() && m.ml.is_some() {
        return Err(("measure.grams", "and ml are both given".into(), "one of the two is accepted".into()));
    }
    let (kind, smallest) = match m.kind.as_str() {
        "scale" => (MeasureKind::Scale, 5.0),
        "millilitres" => (MeasureKind::Millilitres, 5.0),
        "tablet" => (MeasureKind::Tablet, 1.0),
        "scoop" => (MeasureKind::Scoop, 0.5),
        _ => (MeasureKind::Capful, 0.25),
    };
    let grams_each = match (kind, m.grams, m.ml) {
        (MeasureKind::Scale, None, None) => 1.0,
        (MeasureKind::Millilitres, None, None) => density_g_ml.unwrap_or_else(|| {
            assumed.push(Note::Bulk(bulk_g_ml));
            bulk_g_ml
        }),
        (MeasureKind::Scale | MeasureKind::Millilitres, ..) => {
            let field = if m.grams.is_some() { "measure.grams" } else { "measure.ml" };
            return Err((field, "is given".into(), "it belongs to a capful, a scoop or a tablet".into()));
        }
        (_, Some(grams), _) => grams,
        (_, None, Some(ml)) => match density_g_ml {
            Some(density) => ml * density,
            None => {
                assumed.push(Note::Holds { measure: m.kind.clone(), ml, bulk_g_ml });
                ml * bulk_g_ml
            }
        },
        (_, None, None) => {
            return Err((
                "measure.grams",
                "is missing".into(),
                format!("grams in one {} (or ml, what it holds) are needed", m.kind),
            ));
        }
    };
    let smallest = m.smallest.unwrap_or(smallest);
    Ok(Measure { kind, grams_each, smallest })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::amount::Units;

    fn shelf(toml_json: serde_json::Value) -> Result<Product, Vec<Fault>> {
        product(&serde_json::from_value(toml_json).unwrap())
    }

    fn grams_of_chlorine(p: &Product, c: C) -> f64 {
        p.active_mol_per_g * c.active_chlorine() * CL2
    }

    #[test]
    fn labels_become_moles() {
        let j = |s: &str| serde_json::from_str::<serde_json::Value>(s).unwrap();
        let dichlor = shelf(j(r#"{"chemical":"dichlor","available_chlorine_percent":56}"#)).unwrap();
        assert!((grams_of_chlorine(&dichlor, C::Dichlor) - 0.56).abs() < 1e-12);
        let anhydrous = shelf(j(r#"{"chemical":"dichlor","available_chlorine_percent":62}"#)).unwrap();
        assert!((grams_of_chlorine(&anhydrous, C::Dichlor) - 0.62).abs() < 1e-12);
        // Too strong for what the form can hold: 55.4 % is the most of the dihydrate.
        let wrong = shelf(j(r#"{"chemical":"dichlor","available_chlorine_percent":62,"form":"dihydrate"}"#));
        assert_eq!(wrong.unwrap_err()[0].0, "available_chlorine_percent");

        // 125 g/L and 1.2 g/mL: 10.4 % by mass.
        let bleach = shelf(j(r#"{"chemical":"sodium-hypochlorite","available_chlorine_g_l":125}"#)).unwrap();
        assert_eq!(bleach.density_g_ml, Some(1.2));
        assert!((bleach.active_mol_per_g * CL2 * 1200.0 - 125.0).abs() < 1e-9);
        assert_eq!(bleach.companion_salt_mol_per_g, bleach.active_mol_per_g);
        let old =
            shelf(j(r#"{"chemical":"sodium-hypochlorite","available_chlorine_g_l":125,"age_days":120}"#))
                .unwrap();
        assert!((old.active_mol_per_g / bleach.active_mol_per_g - 0.5).abs() < 1e-12);
        assert!((old.companion_salt_mol_per_g / bleach.active_mol_per_g - 1.5).abs() < 1e-12);

        // Flake: 77 % CaCl2, with or without the form named.
        for text in [
            r#"{"chemical":"calcium-chloride","purity_percent":77}"#,
            r#"{"chemical":"calcium-chloride","purity_percent":77,"form":"dihydrate"}"#,
            r#"{"chemical":"calcium-chloride"}"#,
        ] {
            assert!((shelf(j(text)).unwrap().active_mol_per_g - 0.77 / 110.98).abs() < 1e-12, "{text}");
        }
        let pure =
            shelf(j(r#"{"chemical":"calcium-chloride","purity_percent":99,"form":"dihydrate"}"#)).unwrap();
        assert!((pure.active_mol_per_g - 0.99 / 147.01).abs() < 1e-12);
        let borax = shelf(j(r#"{"chemical":"borax","purity_percent":99,"form":"pentahydrate"}"#)).unwrap();
        assert!((borax.active_mol_per_g - 0.99 / 291.29).abs() < 1e-12);
    }

    #[test]
    fn what_cannot_be_guessed_is_asked_for() {
        let j = |s: &str| serde_json::from_str::<serde_json::Value>(s).unwrap();
        assert_eq!(shelf(j(r#"{"chemical":"hydrochloric-acid"}"#)).unwrap_err()[0].0, "purity_percent");
        let acid = shelf(j(r#"{"chemical":"hydrochloric-acid","purity_percent":31.45}"#)).unwrap();
        assert!((acid.density_g_ml.unwrap() - 1.157).abs() < 0.003);
        let capful = r#"{"chemical":"sodium-bicarbonate","measure":{"kind":"capful"}}"#;
        assert_eq!(shelf(j(capful)).unwrap_err()[0].0, "measure.grams");
        let capful =
            r#"{"chemical":"sodium-bicarbonate","purity_percent":99,"measure":{"kind":"capful","ml":30}}"#;
        let capful = shelf(j(capful)).unwrap();
        assert_eq!(capful.measure.grams_each, 30.0);
        assert!(
            capful.assumed.iter().any(|a| a.said(Units::Metric).contains("30 mL")),
            "{:?}",
            capful.assumed
        );
        assert_eq!(shelf(j(r#"{"chemical":"borax","form":"dihydrate"}"#)).unwrap_err()[0].0, "form");
    }
}
