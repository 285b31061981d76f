//! Cautions that go with each product. They never replace the product's label, the local code, or licensed practice.

use super::problem::Role;
use crate::case::{Product, Substance};
use water::Chemical as C;

/// Said with every addition.
pub(crate) const ALWAYS: &str = "Read and follow the product's label; it and the local code come first. Nobody in the water. Keep products \
                      dry, apart, and away from children; one scoop for each, never two products in one pail.";

/// Cautions for adding a product.
pub(crate) fn cautions(product: &Product, role: Role) -> Vec<String> {
    let mut all: Vec<&str> = Vec::new();
    if let Substance::Chemical(c) = product.substance {
        all.extend(of_chemical(c));
    }
    if role == Role::Disinfect {
        all.push("Cover fully off while it is added and for at least 20 minutes after: the vapour harms cover, pillows and lungs.");
    }
    all.push(ALWAYS);
    all.into_iter().map(str::to_string).collect()
}

fn of_chemical(c: C) -> &'static [&'static str] {
    match c {
        C::SodiumBisulfate => &[
            "Acid: goggles and gloves. Acid goes into water, never water onto acid. Never near chlorine products: chlorine gas.",
        ],
        C::HydrochloricAcid => &[
            "Strong acid: face shield, gloves, fresh air; pour low and downwind. Acid goes into water, never water onto acid.",
            "Never near chlorine products: chlorine gas.",
        ],
        C::SodiumHypochlorite => &[
            "Caustic and bleaching: goggles, gloves, below eye level. Never near acid: chlorine gas.",
            "Liquid hypochlorite carries a little caustic and loses strength with age; the pH may end a trace higher.",
        ],
        C::CalciumHypochlorite => &[
            "Strong oxidiser: dry scoop, goggles, gloves; dissolve it in a clean pail of tub water, powder into water.",
            "Never with dichlor, trichlor, acid or organic matter: fire, explosion, chlorine gas.",
        ],
        C::Dichlor | C::Trichlor => &[
            "Oxidiser: dry scoop, goggles, gloves, no dust. Never with calcium hypochlorite, acid or ammonia: fire, toxic gas.",
        ],
        C::SodiumCarbonate | C::SodiumHydroxide | C::SodiumSesquicarbonate => {
            &["Alkaline: goggles and gloves; it warms as it dissolves. Never the same day as acid."]
        }
        C::CalciumChloride => {
            &["It heats the pail as it dissolves: a little at a time into much water, goggles, gloves."]
        }
        C::Monopersulfate => &[
            "Acid oxidiser: goggles, gloves; it may sensitise skin. Never mixed dry with chlorine or bromide.",
        ],
        C::HydrogenPeroxide => {
            &["Strong oxidiser: goggles, gloves; never concentrated with hypochlorite: violent heat."]
        }
        C::SodiumThiosulfate => {
            &["Add half, circulate, test, then the rest: the yield varies. Away from acid (sulfur dioxide)."]
        }
        C::Borax | C::BoricAcid => &[
            "May harm fertility or an unborn child: gloves, no dust, keep from children. Not for public water where the code forbids it.",
        ],
        C::SodiumBromide => {
            &["Gloves. It turns chlorine to bromine at once and for good: only in a bromine tub."]
        }
        _ => &[],
    }
}

/// For the drain and refill.
pub(crate) const DRAIN: [&str; 4] = [
    PURGE,
    "Breaker off and locked before the level falls below the heater; electrical work belongs to a licensed person.",
    "Free chlorine near 0 and pH 6.5-8.5 before the water goes anywhere; ask where it may go (never a storm drain).",
    FILTER,
];

/// Not for replacing a part.
pub(crate) const ONLY_AT_A_DRAIN: [&str; 2] = [PURGE, FILTER];

const PURGE: &str = "Purge the pipes by the purge product's label before draining; slime left in them eats the next water's chlorine.";
const FILTER: &str = "Wipe the shell and clean the filter before refilling; after a rash, an illness, or a year or more of use, put in a new one.";
