//! What a water is made of: conserved totals per kilogram.

use crate::error::WaterError;
use crate::species::COMPONENTS;

macro_rules! totals {
    ($($(#[$doc:meta])* $field:ident, $label:literal;)*) => {
        /// Component totals per kilogram of water. They mix and dose linearly; pH and all else follow from them.
        #[derive(Debug, Clone, Copy, PartialEq, Default)]
        pub struct Totals {
            $($(#[$doc])* pub $field: f64,)*
        }
        impl Totals {
            /// Names of the fields, in order.
            pub const FIELDS: &'static [&'static str] = &[$($label),*];
            /// The fields as an array, in order.
            pub fn to_array(&self) -> [f64; Self::FIELDS.len()] {
                [$(self.$field),*]
            }
            /// From an array in the order of [`Self::FIELDS`].
            pub fn from_array(a: [f64; Self::FIELDS.len()]) -> Self {
                let [$($field),*] = a;
                Totals { $($field),* }
            }
        }
    };
}

totals! {
    /// Alkalinity in eq/kg: strong cations less strong anions, zero at CO2, H3BO3, HOCl, H3Cy, NH4+, SO4-2. May be negative.
    alkalinity, "alkalinity";
    /// Dissolved inorganic carbon, mol/kg.
    carbon, "dissolved inorganic carbon";
    /// Calcium, mol/kg.
    calcium, "calcium";
    /// Magnesium, mol/kg.
    magnesium, "magnesium";
    /// Sodium, mol/kg.
    sodium, "sodium";
    /// Potassium, mol/kg.
    potassium, "potassium";
    /// Sulfate, mol/kg.
    sulfate, "sulfate";
    /// Chloride (not the oxidising kind), mol/kg.
    chloride, "chloride";
    /// Boron, mol/kg.
    boron, "boron";
    /// Cyanurate in all its forms, mol/kg.
    cyanurate, "cyanurate";
    /// Oxidising halogen (free chlorine, and the bromine it has made), mol/kg as Cl2.
    free_chlorine, "free chlorine";
    /// Ammonia nitrogen, mol/kg. It does not react with chlorine here: that is kinetics, not equilibrium.
    ammonia, "ammonia";
    /// Bromine atoms in all their forms, mol/kg.
    bromide, "bromide";
    /// Strong monovalent cations without chemistry (lithium), mol/kg.
    inert_cation, "inert cation";
    /// Strong monovalent anions without chemistry (nitrate, chlorate), mol/kg.
    inert_anion, "inert anion";
    /// Peroxymonosulfate not yet used, mol/kg as HSO5-, taken as a strong monovalent anion
    /// (its second dissociation, pK about 9.4 from memory, is left out).
    monopersulfate, "monopersulfate";
    /// Thiosulfate and tetrathionate, mol/kg, taken as strong divalent anions.
    thiosulfate, "thiosulfate";
    /// Hydrogen peroxide not yet used, mol/kg.
    hydrogen_peroxide, "hydrogen peroxide";
}

impl Totals {
    /// Totals of the equilibrium's components, in their order; for hydrogen −alkalinity.
    pub(crate) fn components(&self) -> [f64; COMPONENTS] {
        [
            self.calcium,
            self.magnesium,
            self.sodium,
            self.potassium,
            self.boron,
            self.ammonia,
            self.bromide,
            self.chloride,
            self.cyanurate,
            self.free_chlorine,
            self.sulfate,
            self.carbon,
            -self.alkalinity,
        ]
    }

    /// Charge of the strong ions in eq/kg. In a complete analysis it equals the alkalinity.
    pub fn strong_ion_difference(&self) -> f64 {
        self.sodium
            + self.potassium
            + 2.0 * (self.calcium + self.magnesium)
            + self.ammonia
            + self.inert_cation
            - self.chloride
            - self.bromide
            - 2.0 * (self.sulfate + self.thiosulfate)
            - self.inert_anion
            - self.monopersulfate
    }

    /// Charge that the analysis leaves unexplained, eq/kg: positive if cations are in excess.
    pub fn charge_imbalance(&self) -> f64 {
        self.strong_ion_difference() - self.alkalinity
    }

    /// The same water with its charge closed by sodium (too few cations) or chloride (too many).
    pub fn closed_with_sodium_chloride(mut self) -> Self {
        let excess = self.charge_imbalance();
        if excess < 0.0 {
            self.sodium -= excess;
        } else {
            self.chloride += excess;
        }
        self
    }

    /// `self + other·factor`, field by field.
    pub fn plus(&self, other: &Totals, factor: f64) -> Totals {
        let mut a = self.to_array();
        for (x, y) in a.iter_mut().zip(other.to_array()) {
            *x += y * factor;
        }
        Totals::from_array(a)
    }

    /// A mixture: `share` of `other` (0 to 1), the rest of `self`.
    pub fn mixed_with(&self, other: &Totals, share: f64) -> Totals {
        Totals::default().plus(self, 1.0 - share).plus(other, share)
    }

    /// Checks every field against the domain of the constants.
    ///
    /// # Errors
    /// [`WaterError`] naming the first field that is not finite, negative, or beyond its limit.
    pub fn check(&self) -> Result<(), WaterError> {
        for (value, name) in self.to_array().into_iter().zip(Self::FIELDS) {
            if !value.is_finite() {
                return Err(WaterError::NotANumber { field: name });
            }
        }
        let range = |field, value, low, high| {
            if (low..=high).contains(&value) {
                Ok(())
            } else {
                Err(WaterError::OutOfRange { field, value, unit: "mol/kg", low, high })
            }
        };
        range("alkalinity", self.alkalinity, -0.1, 0.2)?;
        range("dissolved inorganic carbon", self.carbon, 0.0, 4.0)?;
        for (value, name) in self.to_array().into_iter().zip(Self::FIELDS).skip(2) {
            range(name, value, 0.0, 2.0)?;
        }
        Ok(())
    }
}
