//! What a tub holds and what has left it: the pools between which the model moves amounts.
//!
//! Every process is a vector of pools and coefficients. What left the tub is a pool too, so each element's sum over all
//! pools never changes; that is how mass is kept. Alkalinity is no pool: it follows from the strong ions, and so
//! charge is kept.

macro_rules! pools {
    ($($(#[$doc:meta])* $name:ident;)*) => {
        /// A pool: mol for the whole tub unless it says otherwise.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
        pub enum Pool { $($(#[$doc])* $name),* }
        /// Every pool, in order.
        pub const ALL: &[Pool] = &[$(Pool::$name),*];
    };
}

pools! {
    /// Dissolved inorganic carbon.
    Carbon;
    /// Dissolved calcium.
    Calcium;
    /// Chloride.
    Chloride;
    /// Free chlorine, as Cl2 (one active chlorine each), cyanurate's share included.
    FreeChlorine;
    /// Ammonia nitrogen.
    Ammonia;
    /// NH2Cl.
    Monochloramine;
    /// NHCl2.
    Dichloramine;
    /// NCl3.
    Trichloramine;
    /// NOH, the breakpoint's intermediate.
    Intermediate;
    /// Urea.
    Urea;
    /// Organic nitrogen that can take up chlorine (creatinine, amino acids), mol of N.
    Organic;
    /// The same with one chlorine on it: organic chloramine.
    OrganicChloramine;
    /// Monopersulfate, HSO5-.
    Monopersulfate;
    /// Sulfate.
    Sulfate;
    /// Nitrate, and every other strong anion that came with the water.
    Nitrate;
    /// Chlorate.
    Chlorate;
    /// Carbon dioxide in the air under the cover.
    HeadspaceCarbon;
    /// Calcium carbonate laid down in the tub.
    Scale;
    /// Calcium carbonate on the cell's plates.
    PlateScale;
    /// Water, kg.
    Water;
    /// Temperature, °C (not an amount).
    Temperature;
    /// What is left of the unchanging solutes since the start of the stretch, as a share (splashing takes them).
    Kept;
    /// Hours of wear on the cell.
    CellHours;
    /// Carbon that left, less what came in.
    CarbonOut;
    /// Nitrogen that left the water's chemistry (N2, stripped, spent organic nitrogen, splashed), less what came in.
    NitrogenOut;
    /// Chlorine atoms that left, less what came in.
    ChlorineOut;
    /// Calcium that left, less what came in.
    CalciumOut;
    /// Sulfur that left, less what came in.
    SulfurOut;
    /// Water that left, less what came in, kg.
    WaterOut;
}

/// How many pools there are.
pub const COUNT: usize = ALL.len();

/// Elements whose sums are kept.
pub const ELEMENTS: [&str; 6] = ["carbon", "nitrogen", "chlorine", "calcium", "sulfur", "water"];

impl Pool {
    /// Atoms (water: kilograms) of each of [`ELEMENTS`] in one mole.
    pub fn made_of(self) -> [f64; ELEMENTS.len()] {
        use Pool::*;
        let [c, n, cl, ca, s, w] = match self {
            Carbon | HeadspaceCarbon | CarbonOut => [1, 0, 0, 0, 0, 0],
            Calcium | CalciumOut => [0, 0, 0, 1, 0, 0],
            Scale | PlateScale => [1, 0, 0, 1, 0, 0],
            Chloride | FreeChlorine | Chlorate | ChlorineOut => [0, 0, 1, 0, 0, 0],
            Ammonia | Intermediate | Organic | Nitrate | NitrogenOut => [0, 1, 0, 0, 0, 0],
            Monochloramine | OrganicChloramine => [0, 1, 1, 0, 0, 0],
            Dichloramine => [0, 1, 2, 0, 0, 0],
            Trichloramine => [0, 1, 3, 0, 0, 0],
            Urea => [1, 2, 0, 0, 0, 0],
            Monopersulfate | Sulfate | SulfurOut => [0, 0, 0, 0, 1, 0],
            Water | WaterOut => [0, 0, 0, 0, 0, 1],
            Temperature | Kept | CellHours => [0, 0, 0, 0, 0, 0],
        };
        [c, n, cl, ca, s, w].map(f64::from)
    }

    /// Whether it is dissolved, so that splashing takes its share.
    pub fn dissolved(self) -> bool {
        (self as usize) <= Pool::Chlorate as usize
    }
}

/// Where splashed and stripped amounts of each element go.
pub(crate) const OUT: [Pool; ELEMENTS.len()] = [
    Pool::CarbonOut,
    Pool::NitrogenOut,
    Pool::ChlorineOut,
    Pool::CalciumOut,
    Pool::SulfurOut,
    Pool::WaterOut,
];

/// Sums of the elements over all pools.
pub fn elements(amounts: &[f64; COUNT]) -> [f64; ELEMENTS.len()] {
    let mut sums = [0.0; ELEMENTS.len()];
    for (pool, amount) in ALL.iter().zip(amounts) {
        for (sum, n) in sums.iter_mut().zip(pool.made_of()) {
            *sum += n * amount;
        }
    }
    sums
}

/// Whether a process makes or loses no atoms.
pub fn keeps_elements(change: &[(Pool, f64)]) -> bool {
    let mut amounts = [0.0; COUNT];
    for (pool, n) in change {
        amounts[*pool as usize] += n;
    }
    elements(&amounts).iter().all(|sum| sum.abs() < 1e-12)
}
