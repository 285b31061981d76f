//! Cautions that go with each product. They never replace the product's label, the local code, or licensed practice.

use super::problem::Role;
use crate::case::{Product, Substance};
use crate::text::{Text, say};
use water::Chemical as C;

/// Said with every addition.
pub(crate) fn always() -> Text {
    say!(
        "care-caution-always",
        "Read and follow the product's label; it and the local code come first. Nobody in the water. Keep products \
                      dry, apart, and away from children; one scoop for each, never two products in one pail."
    )
}

/// Cautions for adding a product.
pub(crate) fn cautions(product: &Product, role: Role) -> Vec<Text> {
    let mut all: Vec<Text> = Vec::new();
    if let Substance::Chemical(c) = product.substance {
        all.extend(of_chemical(c));
    }
    // Trichlor has no place in a plan, but somebody may ask what it would do.
    let trichlor = product.substance == Substance::Chemical(C::Trichlor);
    if role == Role::Disinfect || trichlor {
        all.push(say!("care-caution-cover-off", "Cover fully off while it is added and for at least 20 minutes after: the vapour harms cover, pillows and lungs."));
    }
    all.push(always());
    all
}

fn of_chemical(c: C) -> Vec<Text> {
    match c {
        C::SodiumBisulfate => vec![say!(
            "care-caution-dry-acid",
            "Acid: goggles and gloves. Acid goes into water, never water onto acid. Never near chlorine products: chlorine gas."
        )],
        C::HydrochloricAcid => vec![
            say!(
                "care-caution-strong-acid",
                "Strong acid: face shield, gloves, fresh air; pour low and downwind. Acid goes into water, never water onto acid."
            ),
            say!("care-caution-no-chlorine-products", "Never near chlorine products: chlorine gas."),
        ],
        C::SodiumHypochlorite => vec![
            say!(
                "care-caution-hypochlorite",
                "Caustic and bleaching: goggles, gloves, below eye level. Never near acid: chlorine gas."
            ),
            say!(
                "care-caution-hypochlorite-ages",
                "Liquid hypochlorite carries a little caustic and loses strength with age; the pH may end a trace higher."
            ),
        ],
        C::CalciumHypochlorite => vec![
            say!(
                "care-caution-calcium-hypochlorite",
                "Strong oxidiser: dry scoop, goggles, gloves; dissolve it in a clean pail of tub water, powder into water."
            ),
            say!(
                "care-caution-never-with-dichlor",
                "Never with dichlor, trichlor, acid or organic matter: fire, explosion, chlorine gas."
            ),
        ],
        C::Dichlor | C::Trichlor => vec![say!(
            "care-caution-dichlor",
            "Oxidiser: dry scoop, goggles, gloves, no dust. Never with calcium hypochlorite, acid or ammonia: fire, toxic gas."
        )],
        C::SodiumCarbonate | C::SodiumHydroxide | C::SodiumSesquicarbonate => {
            vec![say!(
                "care-caution-alkaline",
                "Alkaline: goggles and gloves; it warms as it dissolves. Never the same day as acid."
            )]
        }
        C::CalciumChloride => {
            vec![say!(
                "care-caution-calcium-chloride",
                "It heats the pail as it dissolves: a little at a time into much water, goggles, gloves."
            )]
        }
        C::Monopersulfate => vec![say!(
            "care-caution-monopersulfate",
            "Acid oxidiser: goggles, gloves; it may sensitise skin. Never mixed dry with chlorine or bromide."
        )],
        C::HydrogenPeroxide => {
            vec![say!(
                "care-caution-peroxide",
                "Strong oxidiser: goggles, gloves; never concentrated with hypochlorite: violent heat."
            )]
        }
        C::SodiumThiosulfate => {
            vec![say!(
                "care-caution-thiosulfate",
                "Add half, circulate, test, then the rest: the yield varies. Away from acid (sulfur dioxide)."
            )]
        }
        C::Borax | C::BoricAcid => vec![say!(
            "care-caution-boron",
            "May harm fertility or an unborn child: gloves, no dust, keep from children. Not for public water where the code forbids it."
        )],
        C::SodiumBromide => {
            vec![say!(
                "care-caution-bromide",
                "Gloves. It turns chlorine to bromine at once and for good: only in a bromine tub."
            )]
        }
        _ => vec![],
    }
}

/// For the drain and refill, or for replacing a part of the water.
pub(crate) fn of_replacing(all: bool) -> Vec<Text> {
    let breaker = say!(
        "care-caution-breaker",
        "Breaker off and locked before the level falls below the heater; electrical work belongs to a licensed person."
    );
    let waste = say!(
        "care-caution-waste",
        "Free chlorine near 0 and pH 6.5-8.5 before the water goes anywhere; ask where it may go (never a storm drain)."
    );
    if !all {
        return vec![breaker, waste];
    }
    let purge = say!(
        "care-caution-purge",
        "Purge the pipes by the purge product's label before draining; slime left in them eats the next water's chlorine."
    );
    let filter = say!(
        "care-caution-filter",
        "Wipe the shell and clean the filter before refilling; after a rash, an illness, or a year or more of use, put in a new one."
    );
    vec![purge, breaker, waste, filter]
}
