//! Where the search starts: the carbonate system with its ion pairs and the other weak acids, solved roughly.

use super::parts::{BROMIDE, CHLORIDE, CORE, OXIDANT, part};
use super::{Known, LN_10, Spectators};
use crate::activity::ActivityClasses;
use crate::exponential;
use crate::species::{COUNT, Id};
use crate::totals::Totals;

/// Activities of the core, ionic strength, activity of water.
#[derive(Clone, Copy)]
pub(super) struct Start {
    pub(super) x: [f64; CORE],
    pub(super) strength: f64,
    pub(super) water: f64,
}

/// What a rough solve missed: answer less start, for strength answer over start.
#[derive(Debug, Clone, Copy)]
pub(super) struct Missed {
    x: [f64; CORE],
    strength: f64,
    water: f64,
}

impl Start {
    /// What this start missed, now that the answer is known.
    pub(super) fn missed(&self, x: &[f64; CORE], strength: f64, water: f64) -> Missed {
        Missed {
            x: std::array::from_fn(|i| x[i] - self.x[i]),
            strength: strength / self.strength.max(1e-9),
            water: water - self.water,
        }
    }

    /// A rough solve errs alike in similar waters: what it missed there is put right here.
    pub(super) fn corrected_by(mut self, there: &Missed) -> Start {
        for (x, missed) in self.x.iter_mut().zip(there.x) {
            if missed.abs() < 0.5 {
                *x += missed;
            }
        }
        if (0.5..2.0).contains(&there.strength) {
            self.strength *= there.strength;
        }
        self.water += there.water;
        self
    }
}

/// From the totals alone.
pub(super) fn from_totals(
    totals: &Totals,
    activity: &ActivityClasses,
    ln_k: &[f64; COUNT],
    known: Known,
) -> Start {
    let Totals { alkalinity, carbon, sulfate, boron, cyanurate, ammonia: ammonium, .. } = *totals;
    let oxidant = totals.free_chlorine;
    let spectators = Spectators::of(totals);
    let hard = totals.calcium + totals.magnesium;
    let monovalent = totals.sodium + totals.potassium + ammonium + totals.chloride + totals.bromide;
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
    let na = totals.sodium;
    let (mut ca, mut mg, mut sulfate_free) = (0.0, 0.0, sulfate);
    for _ in 0..2 {
        ca = totals.calcium / (1.0 + ca_s * sulfate_free);
        mg = totals.magnesium / (1.0 + mg_s * sulfate_free);
        sulfate_free = sulfate / (1.0 + ca_s * ca + mg_s * mg + na_s * na);
    }
    let paired = sulfate - sulfate_free;

    // Bicarbonate and carbonate with their ion pairs, relative to CO2: k1/h and k1·k2/h². What oxidant cyanurate can
    // hold, it holds as HClCy-.
    let held = oxidant.min(cyanurate);
    let bases = Bases {
        carbon,
        k1: (b + ca * ca_b + mg * mg_b + na * na_b) / co2,
        k1_k2: (c + ca * ca_c + mg * mg_c + na * na_c) / co2,
        acids: [(boron, borate), (ammonium, ammonia), (cyanurate - held, cy), (oxidant - held, ocl)],
        hydrogen,
        hydroxide,
    };
    let h = match known {
        Known::Ph(ph) | Known::PhAndCarbon(ph) => (-ph * LN_10).exp(),
        Known::Both => bases.h_at(alkalinity - held),
    };
    let (bicarbonate, carbonate) = (bases.k1 / h, bases.k1_k2 / (h * h));
    // CO2 by carbon, or by the alkalinity that is left for it.
    let (room, amount) = match known {
        Known::Ph(_) => {
            let taken = Bases { carbon: 0.0, ..bases }.alkalinity_at(h).0;
            let room = alkalinity - held - taken;
            (room, room / (bicarbonate + 2.0 * carbonate))
        }
        Known::Both | Known::PhAndCarbon(_) => (0.0, carbon / (1.0 + bicarbonate + carbonate)),
    };
    let co2 = amount / co2;
    let mut x = [h.ln(), co2.max(1e-14).ln(), sulfate_free.max(1e-14).ln() + so4, 0.0, 0.0, 0.0];
    if oxidant > 0.0 {
        halogens(&mut x, totals, h, h / (h + cy), &k, &g);
    }
    Start {
        x,
        strength: spectators.strength
            + 0.5 * (monovalent + alkalinity.abs())
            + 2.0 * (hard + sulfate - 2.0 * paired),
        water: 1.0 - 0.017 * (spectators.moles + monovalent + carbon + room.max(0.0) + hard + sulfate_free),
    }
}

/// The acids and bases of a water with constants by amount: what alkalinity each takes at an h.
struct Bases {
    carbon: f64,
    k1: f64,
    k1_k2: f64,
    /// Of one proton: (total, constant).
    acids: [(f64, f64); 4],
    hydrogen: f64,
    hydroxide: f64,
}

impl Bases {
    /// The h at which they take up an alkalinity: Newton's method in ln h from the carbonate system alone.
    fn h_at(&self, alkalinity: f64) -> f64 {
        let mut h = self.carbonate_h(alkalinity);
        for _ in 0..8 {
            let (taken, slope) = self.alkalinity_at(h);
            let step = ((taken - alkalinity) / slope).clamp(-3.0, 3.0);
            // e^step to second order, and positive.
            h *= if step > 0.0 { 1.0 + step } else { 1.0 / (1.0 - step) };
            if step.abs() < 2e-3 {
                break;
            }
        }
        h.clamp(1e-13, 1e-1)
    }

    /// Alkalinity at an h, and its decrease with ln h.
    fn alkalinity_at(&self, h: f64) -> (f64, f64) {
        let (bicarbonate, carbonate) = (self.k1 / h, self.k1_k2 / (h * h));
        let whole = 1.0 / (1.0 + bicarbonate + carbonate);
        let mean = (bicarbonate + 2.0 * carbonate) * whole;
        let mean_square = (bicarbonate + 4.0 * carbonate) * whole;
        let (acid, base) = (self.hydrogen * h, self.hydroxide / h);
        let mut taken = self.carbon * mean + base - acid;
        let mut slope = self.carbon * (mean_square - mean * mean) + base + acid;
        for (total, constant) in self.acids {
            let share = constant / (constant + h);
            taken += total * share;
            slope += total * share * (1.0 - share);
        }
        (taken, slope)
    }

    /// A·h² − k1(C − A)·h − k1·k2(2C − A) = 0; strong acid or base where carbonate cannot be all.
    fn carbonate_h(&self, alkalinity: f64) -> f64 {
        if alkalinity <= 1e-7 {
            (-alkalinity).max(1e-6)
        } else if self.carbon <= 0.5 * alkalinity {
            self.hydroxide / (alkalinity - self.carbon)
        } else {
            let half = self.k1 * (self.carbon - alkalinity);
            let product = self.k1_k2 * (2.0 * self.carbon - alkalinity);
            let root = (half * half + 4.0 * alkalinity * product).sqrt();
            let h =
                if half > 0.0 { (half + root) / (2.0 * alkalinity) } else { 2.0 * product / (root - half) };
            h.clamp(1e-12, 1e-3)
        }
    }
}

/// Oxidant, chloride and bromide after HOCl + Br- = HOBr + Cl-, with cyanurate and hypochlorite binding the HOCl;
/// `acid_share` is how much of free cyanurate is H3Cy.
fn halogens(
    x: &mut [f64; CORE],
    totals: &Totals,
    h: f64,
    acid_share: f64,
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
    let Totals { free_chlorine: oxidant, chloride, bromide, cyanurate, .. } = *totals;

    // y of HClCy-: y = K'·(Ox − y)·(Cy − y).
    let ionised = 1.0 + ocl / h;
    let binding = cl_cy / h * acid_share / ionised;
    let linear = 1.0 + binding * (oxidant + cyanurate);
    let constant = binding * oxidant * cyanurate;
    let held = 2.0 * constant / (linear + (linear * linear - 4.0 * binding * constant).max(0.0).sqrt());
    // Oxidant for each part of HOCl; from the cyanurate left over if there is plenty.
    let bound = ionised * (1.0 + binding * (cyanurate - held).max(0.0));

    // y of the bromide oxidised: y·(Cl + y) = K'·(Ox − y)·(Br − y).
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
