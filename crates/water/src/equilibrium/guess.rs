//! Where the search starts: the carbonate system with its ion pairs and the other weak acids, solved roughly.

use super::parts::{
    Active, BROMIDE, CARBON, CHLORIDE, CORE, CORE_COMPONENTS, HYDROGEN, OXIDANT, SULFATE, part,
};
use super::{Known, LN_10, Speciation, Spectators};
use crate::activity::ActivityClasses;
use crate::exponential;
use crate::species::{COMPONENTS, COUNT, Component, Id};

/// Activities of the core, ionic strength, activity of water.
pub(super) struct Start {
    pub(super) x: [f64; CORE],
    pub(super) strength: f64,
    pub(super) water: f64,
}

/// From a similar water.
pub(super) fn from_similar(similar: &Speciation, active: &Active) -> Start {
    let mut x = similar.ln_activity;
    let before = similar.totals.components();
    let oxidant = before[Component::Oxidant as usize] > 0.0;
    for i in CARBON..CORE {
        let sought_before = before[CORE_COMPONENTS[i] as usize] > 0.0 && (i < OXIDANT || oxidant);
        if !sought_before {
            x[i] = active.total[i].max(1e-12).ln();
        }
    }
    Start { x, strength: similar.ionic_strength, water: similar.water_activity }
}

/// From the totals alone.
pub(super) fn from_totals(
    total: &[f64; COMPONENTS],
    active: &Active,
    activity: &ActivityClasses,
    ln_k: &[f64; COUNT],
    known: Known,
    spectators: Spectators,
) -> Start {
    let t = |c: Component| total[c as usize];
    let alkalinity = -active.total[HYDROGEN];
    let sulfate = active.total[SULFATE];
    let hard = t(Component::Calcium) + t(Component::Magnesium);
    let monovalent =
        t(Component::Sodium) + t(Component::Potassium) + t(Component::Ammonium) + active.total[CHLORIDE]
            - active.idle_chloride;
    let rough = spectators.strength + 0.5 * (monovalent + alkalinity.abs()) + 1.7 * (hard + sulfate);

    // Constants by amount instead of activity, for what is free of calcium, sulfate …; all exponentials at once.
    let gamma = activity.at(rough);
    let g = |id: Id| gamma.ln[part(id as u8).class()];
    let k = |id: Id, ln_gammas: f64| ln_k[id as usize] + ln_gammas - g(id);
    let (ca, mg, na, so4) = (g(Id::Calcium), g(Id::Magnesium), g(Id::Sodium), g(Id::Sulfate));
    let mut e = [
        k(Id::Hydrogen, 0.0),
        k(Id::Hydroxide, 0.0),
        k(Id::CarbonDioxide, 0.0),
        k(Id::Bicarbonate, 0.0),
        k(Id::CalciumBicarbonate, ca),
        k(Id::MagnesiumBicarbonate, mg),
        k(Id::SodiumBicarbonate, na),
        k(Id::Carbonate, 0.0),
        k(Id::CalciumCarbonate, ca),
        k(Id::MagnesiumCarbonate, mg),
        k(Id::SodiumCarbonate, na),
        k(Id::CalciumSulfate, ca + so4),
        k(Id::MagnesiumSulfate, mg + so4),
        k(Id::SodiumSulfate, na + so4),
        k(Id::Borate, g(Id::BoricAcid)),
        k(Id::Ammonia, g(Id::Ammonium)),
        k(Id::Hypochlorite, g(Id::HypochlorousAcid)),
        k(Id::Cyanurate1, g(Id::CyanuricAcid)),
    ];
    exponential::exp_in_place(&mut e);
    let [hydrogen, hydroxide, co2, b, ca_b, mg_b, na_b, c, ca_c, mg_c, na_c, ..] = e;
    let [.., ca_s, mg_s, na_s, borate, ammonia, ocl, cy] = e;

    // Free metals and sulfate, two rounds of pairing.
    let na = t(Component::Sodium);
    let (mut ca, mut mg, mut sulfate_free) = (0.0, 0.0, sulfate);
    for _ in 0..2 {
        ca = t(Component::Calcium) / (1.0 + ca_s * sulfate_free);
        mg = t(Component::Magnesium) / (1.0 + mg_s * sulfate_free);
        sulfate_free = sulfate / (1.0 + ca_s * ca + mg_s * mg + na_s * na);
    }
    let paired = sulfate - sulfate_free;

    // Bicarbonate and carbonate with their ion pairs, relative to CO2: k1/h and k1·k2/h².
    let k1 = (b + ca * ca_b + mg * mg_b + na * na_b) / co2;
    let k1_k2 = (c + ca * ca_c + mg * mg_c + na * na_c) / co2;
    let carbon = active.total[CARBON];
    let cyanurate = t(Component::Cyanurate);
    let oxidant = active.total[OXIDANT];
    // Alkalinity that the other weak acids and water take at an h.
    let others = |h: f64| {
        t(Component::Boron) * borate / (borate + h)
            + t(Component::Ammonium) * ammonia / (ammonia + h)
            + cyanurate * cy / (cy + h)
            + oxidant * ocl / (ocl + h)
            + hydroxide / h
            - hydrogen * h
    };
    let h = match known {
        Known::Ph(ph) | Known::PhAndCarbon(ph) => (-ph * LN_10).exp(),
        Known::Both => {
            let mut h = 3e-8;
            for _ in 0..3 {
                let left = alkalinity - others(h).min(0.8 * alkalinity.abs());
                h = carbonate_h(carbon, left, k1, k1_k2);
            }
            h
        }
    };
    let co2 = carbon.max(1e-12) / co2 / (1.0 + k1 / h + k1_k2 / (h * h));
    let ln = |value: f64| value.max(1e-14).ln();
    let mut x = [h.ln(), ln(co2), ln(sulfate_free) + so4, 0.0, 0.0, 0.0];
    if oxidant > 0.0 {
        let unbound_cyanurate = (cyanurate - oxidant).max(0.1 * cyanurate) * h / (h + cy);
        halogens(&mut x, active, h, unbound_cyanurate, &k, &g);
    }
    Start {
        x,
        strength: spectators.strength
            + 0.5 * (monovalent + alkalinity.abs())
            + 2.0 * (hard + sulfate - 2.0 * paired),
        water: 1.0 - 0.017 * (spectators.moles + monovalent + carbon + hard + sulfate_free),
    }
}

/// Oxidant, chloride and bromide after HOCl + Br- = HOBr + Cl-, with cyanurate and hypochlorite binding the HOCl.
fn halogens(
    x: &mut [f64; CORE],
    active: &Active,
    h: f64,
    unbound_cyanurate: f64,
    k: &impl Fn(Id, f64) -> f64,
    g: &impl Fn(Id) -> f64,
) {
    let hocl = g(Id::HypochlorousAcid);
    let mut e = [
        k(Id::Hypochlorite, hocl),
        k(Id::Monochlorocyanurate1, g(Id::CyanuricAcid) + hocl),
        k(Id::HypobromousAcid, hocl + g(Id::Bromide) - g(Id::Chloride)),
        k(Id::Hypobromite, hocl + g(Id::Bromide) - g(Id::Chloride)),
    ];
    exponential::exp_in_place(&mut e);
    let [ocl, cl_cy, exchange, obr] = e;
    let (oxidant, chloride, bromide) = (active.total[OXIDANT], active.total[CHLORIDE], active.total[BROMIDE]);
    // Of each oxidant, what one part of HOCl stands for: K' = y·(Cl + y)/((Ox − y)·(Br − y)), y the bromide oxidised.
    let bound = 1.0 + (ocl + cl_cy * unbound_cyanurate) / h;
    let equilibrium = (exchange + obr / h) / bound;
    let linear = chloride + equilibrium * (oxidant + bromide);
    let constant = equilibrium * oxidant * bromide;
    let root = (linear * linear + 4.0 * (1.0 - equilibrium) * constant).max(0.0).sqrt();
    let oxidised = 2.0 * constant / (linear + root);
    // The one that is left over by difference, the one that is nearly used up by the law of mass action.
    let product = oxidised * (chloride + oxidised) / equilibrium;
    let (left, bromide_left) = if oxidant > bromide {
        let left = oxidant - oxidised;
        (left, product / left)
    } else {
        let bromide_left = (bromide - oxidised).max(1e-50);
        (product / bromide_left, bromide_left)
    };
    // Traces can leave very little free.
    let ln = |value: f64| value.max(1e-50).ln();
    x[OXIDANT] = ln(left / bound) + hocl;
    x[CHLORIDE] = ln(chloride + oxidised) + g(Id::Chloride);
    x[BROMIDE] = ln(bromide_left) + g(Id::Bromide);
}

/// h of the carbonate system, A·h² − k1(C − A)·h − k1·k2(2C − A) = 0; strong acid or base where carbonate cannot be all.
fn carbonate_h(carbon: f64, alkalinity: f64, k1: f64, k1_k2: f64) -> f64 {
    if alkalinity <= 1e-7 {
        (-alkalinity).max(1e-6)
    } else if carbon <= 0.5 * alkalinity {
        1e-14 / (alkalinity - carbon)
    } else {
        let half = k1 * (carbon - alkalinity);
        let product = k1_k2 * (2.0 * carbon - alkalinity);
        let root = (half * half + 4.0 * alkalinity * product).sqrt();
        let h = if half > 0.0 { (half + root) / (2.0 * alkalinity) } else { 2.0 * product / (root - half) };
        h.clamp(1e-12, 1e-3)
    }
}
