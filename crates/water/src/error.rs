//! What can be wrong with a water, said with the numbers that a person needs.

/// Why a water could not be solved.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum WaterError {
    /// A field lies outside the domain in which the constants hold.
    #[error("{field} is {value} {unit}; {low} to {high} {unit} is accepted")]
    OutOfRange {
        /// The field's name, with its unit as the machine contract spells it.
        field: &'static str,
        /// What was given.
        value: f64,
        /// Its unit.
        unit: &'static str,
        /// Least accepted value.
        low: f64,
        /// Greatest accepted value.
        high: f64,
    },
    /// A field is not a finite number.
    #[error("{field} is not a finite number")]
    NotANumber {
        /// The field's name.
        field: &'static str,
    },
    /// At this pH the other weak acids and hydroxide already hold more alkalinity than was given.
    #[error(
        "total_alkalinity_mg_l_caco3 is {given:.3}, but at pH {ph:.3} this water holds {without_carbon:.3} mg/L without any carbonate \
         (hydroxide, borate, cyanurate, hypochlorite, less acid): give a higher alkalinity or another pH"
    )]
    NoRoomForCarbonate {
        /// Alkalinity given, mg/L as CaCO3.
        given: f64,
        /// Alkalinity with no carbon at all at this pH, mg/L as CaCO3.
        without_carbon: f64,
        /// The pH given.
        ph: f64,
    },
    /// The bounded iteration ended before it settled.
    #[error("no equilibrium after {sweeps} sweeps (the last step was still {step:.1e} of what is sought)")]
    NotSettled {
        /// Sweeps done.
        sweeps: u32,
        /// Largest step of the last sweep, relative.
        step: f64,
    },
    /// Taking out more than there is.
    #[error(
        "{component} would fall to {result_mol_kg:.3e} mol/kg: no more than {available_mol_kg:.3e} mol/kg can be taken out"
    )]
    Exhausted {
        /// The component.
        component: &'static str,
        /// What would remain.
        result_mol_kg: f64,
        /// What was there.
        available_mol_kg: f64,
    },
}
