//! What uses chlorine up besides ammonia: the water and its surfaces, light, organic nitrogen, urea, ozone.
//!
//! In: temperature, light, concentrations. Out: rate constants. First-order terms act on free chlorine; light acts on
//! its forms; what bathers leave reacts with the undissociated acid, so cyanurate slows it as it does everything.
//! Which numbers are published and which are judgement stands at each.

/// Properties of one tub's demand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Demand {
    /// Share of free chlorine used in a day at 38 °C with nobody in it, as a rate (0.15 is 14 % in the first day).
    /// 5–25 % a day is usual for a clean covered tub (from memory): fit it.
    pub background_per_day: f64,
    /// Activation energy over the gas constant, K: 6000–9000 for organic matter in bulk water (from memory).
    pub activation_k: f64,
    /// Organic nitrogen with chlorine, mol/kg per s at 38 °C on HOCl: gone in minutes (judgement).
    pub organic_per_mol_s: f64,
    /// Organic chloramine with more chlorine: weeks (judgement; they are not destroyed on the breakpoint's time scale).
    pub organic_chloramine_per_mol_s: f64,
    /// Monopersulfate used in a day at 38 °C (judgement: hours to a day).
    pub monopersulfate_per_day: f64,
    /// Monopersulfate with organic nitrogen and organic chloramine, per mol/kg and s (judgement; it does little to
    /// monochloramine, so that is left out).
    pub monopersulfate_organic_per_mol_s: f64,
    /// Share of urea's nitrogen that leaves its chlorination as trichloramine; the rest ends as nitrate and nitrogen.
    /// 0.76 of theory was found with much chlorine at pH 7.1 (Schmalz et al. 2011, abstract); De Laat's products close
    /// without any. 0 is judgement.
    pub urea_to_trichloramine: f64,
    /// Ozone that reaches the water, g/h.
    pub ozone_g_h: f64,
    /// Ozone's own decay in the tub, 1/s (judgement: minutes in warm water).
    pub ozone_decay_per_s: f64,
}

impl Default for Demand {
    fn default() -> Self {
        Demand {
            background_per_day: 0.15,
            activation_k: 7_500.0,
            organic_per_mol_s: 50.0,
            organic_chloramine_per_mol_s: 0.05,
            monopersulfate_per_day: 1.5,
            monopersulfate_organic_per_mol_s: 0.5,
            urea_to_trichloramine: 0.0,
            ozone_g_h: 0.0,
            ozone_decay_per_s: 3e-3,
        }
    }
}

impl Demand {
    /// Temperature factor of the tub's own demand, 1 at 38 °C (Arrhenius).
    pub fn arrhenius(&self, t_c: f64) -> f64 {
        (-self.activation_k * (1.0 / (t_c + 273.15) - 1.0 / 311.15)).exp()
    }

    /// Ozone at its steady level, mol/kg, when the rest takes `others_per_s` of it.
    pub(crate) fn ozone_mol_kg(&self, water_kg: f64, others_per_s: f64) -> f64 {
        self.ozone_g_h / (3600.0 * OZONE_G_MOL * water_kg) / (self.ozone_decay_per_s + others_per_s)
    }
}

const OZONE_G_MOL: f64 = 47.998;

/// Light at the surface on a clear summer noon: 1/s for HOCl and OCl-.
///
/// # Source
/// Nowell & Hoigné 1992, Water Res. 26:593 (abstract): 2e-4 and 1.2e-3 1/s at 47° N.
pub const SUN_HYPOCHLOROUS_PER_S: f64 = 2e-4;
/// See [`SUN_HYPOCHLOROUS_PER_S`].
pub const SUN_HYPOCHLORITE_PER_S: f64 = 1.2e-3;
/// Light on chlorine that cyanurate holds, as a share of that on HOCl (1–3 %; from memory).
pub const SUN_BOUND_SHARE: f64 = 0.02;
/// Absorbance of tub water to the light that matters (about 330 nm), 1/m (judgement: clear water).
pub const LIGHT_ABSORBANCE_PER_M: f64 = 0.5;

/// Mean light in a depth of water as a share of that at the surface: (1 − 10^(−a·z))/(2.303·a·z).
pub fn mean_light(depth_m: f64) -> f64 {
    let x = std::f64::consts::LN_10 * LIGHT_ABSORBANCE_PER_M * depth_m;
    if x < 1e-6 { 1.0 } else { (1.0 - (-x).exp()) / x }
}

/// Rate at which full sun takes free chlorine, mol/(kg·s), from its three forms in mol/kg.
pub fn sun_mol_kg_s(hypochlorous: f64, hypochlorite: f64, bound: f64, depth_m: f64, sun: f64) -> f64 {
    sun * mean_light(depth_m)
        * (SUN_HYPOCHLOROUS_PER_S * (hypochlorous + SUN_BOUND_SHARE * bound)
            + SUN_HYPOCHLORITE_PER_S * hypochlorite)
}

/// Urea with chlorine, per mol/kg of HOCl and s.
///
/// # Source
/// De Laat et al. 2011, Water Res. 45:1139 (abstract): about 1 % of the urea an hour at 1.6–1.8 mg/L of free chlorine;
/// 0.12 per mol/L of free chlorine and s, of which 57 % is HOCl at the pool's pH 7.4 and 27 °C. Twice as fast for
/// 10 K more: an assumption. That Cl2 may be the agent (so that pH and chloride matter more) is left out.
pub fn urea_per_mol_s(t_c: f64) -> f64 {
    0.21 * 2f64.powf((t_c - 27.0) / 10.0)
}

/// Nitrate per urea, mol: 0.7–0.8 (De Laat et al. 2011).
pub const NITRATE_PER_UREA: f64 = 0.75;
/// Chlorine per urea: 4 for each nitrate and 1.5 for each nitrogen that leaves as N2. De Laat et al. found about 5.
pub const CHLORINE_PER_UREA: f64 = 4.0 * NITRATE_PER_UREA + 1.5 * (2.0 - NITRATE_PER_UREA);

/// Ozone with OCl-, monochloramine and organic nitrogen, per mol/kg and s at 20–25 °C, used at every temperature.
///
/// # Source
/// Haag & Hoigné 1983, Environ. Sci. Technol. 17:261 (from memory): 120 for OCl- (77 % to chloride, 23 % to chlorate), 26
/// for NH2Cl (to nitrate and chloride). Organic nitrogen: judgement.
pub mod ozone {
    /// OCl- → Cl-.
    pub const HYPOCHLORITE_TO_CHLORIDE: f64 = 0.77 * 120.0;
    /// OCl- → ClO3-.
    pub const HYPOCHLORITE_TO_CHLORATE: f64 = 0.23 * 120.0;
    /// NH2Cl → NO3- + Cl-.
    pub const MONOCHLORAMINE: f64 = 26.0;
    /// Organic nitrogen.
    pub const ORGANIC: f64 = 100.0;
}
