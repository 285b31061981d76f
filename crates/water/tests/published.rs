//! Printed tables and worked examples from handbooks, standards, papers and utilities (`reference/published/`), each with
//! the tolerance and its reason beside it in `tests/compare/published/`.

mod compare;

use compare::published;
use water::{Celsius, Equilibria, WaterError};

#[test]
fn acid_shares_of_chlorine_and_bromine() {
    published::chlorine::halogen_fractions().assert();
}

#[test]
fn chlorine_beside_cyanurate() {
    published::chlorine::chlorine_and_cyanurate().assert();
}

#[test]
fn a_dichlor_dose_leaves_the_free_chlorine_that_was_measured() {
    published::chlorine::dichlor_example().assert();
}

#[test]
fn the_calcite_standard_of_1995() {
    published::analyses::calcite_standard_1995().assert();
}

#[test]
fn the_calcite_standard_of_2012() {
    published::analyses::calcite_standard_2012().assert();
}

#[test]
fn worked_saturation_index_examples() {
    published::saturation::saturation_examples().assert();
    // The sixth is a boiler at 82 °C: refused by name, not extrapolated.
    let refused = Equilibria::at(Celsius(82.0)).unwrap_err();
    assert!(matches!(refused, WaterError::OutOfRange { field: "temperature_c", .. }), "{refused}");
}

#[test]
fn terms_of_the_simplified_index() {
    published::saturation::saturation_factors().assert();
}

#[test]
fn tap_waters_with_printed_results() {
    published::analyses::tap_waters().assert();
}

#[test]
fn handbook_doses() {
    published::doses::dose_tables().assert();
}
