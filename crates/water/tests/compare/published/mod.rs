//! Printed tables and worked examples (`reference/published/`): handbooks, standards, papers, utilities' own analyses.

pub(crate) mod analyses;
pub(crate) mod chlorine;
pub(crate) mod doses;
pub(crate) mod saturation;

use super::{Line, Section};
use water::{Celsius, Equilibria, Ph, Speciation, Totals};

/// Constants at a published water's temperature.
pub(super) fn equilibria(t_c: f64) -> Equilibria {
    Equilibria::at(Celsius(t_c)).expect("a published water is in range")
}

/// All of them, in the order of the page.
pub(crate) fn sections() -> Vec<Section> {
    vec![
        chlorine::halogen_fractions(),
        chlorine::chlorine_and_cyanurate(),
        chlorine::dichlor_example(),
        analyses::calcite_standard_1995(),
        analyses::calcite_standard_2012(),
        saturation::saturation_examples(),
        saturation::saturation_factors(),
        analyses::tap_waters(),
        doses::dose_tables(),
    ]
}

/// The water of a German analysis: alkalinity is the acid capacity to pH 4.3 less 0.05 mmol/L of acid left over, as the
/// standard has it. (By equilibrium bicarbonate is left over as well if the sample keeps its carbon dioxide, so that the two
/// nearly cancel in a hard water; the published results follow the convention, so this does.)
pub(super) fn from_acid_capacity(at: &Equilibria, ions: &Totals, l: &Line<'_>, column: &str) -> Speciation {
    let alkalinity = l.number(column) / 1000.0 - 0.05e-3;
    at.solve_at_ph(&Totals { alkalinity, ..*ions }, Ph(l.number("ph"))).expect("a published water solves")
}
