//! Waters that the first reference file does not hold: chlorine, cyanurate, borate, ammonium, bromide, 5–45 °C; and doses,
//! made by our own additions and not copied from the file. See `reference/README.md`.

mod compare;

#[test]
fn waters_with_chlorine_cyanurate_borate_ammonium_and_bromide_agree_both_ways_round() {
    compare::library::extended_waters()[0].assert();
}

#[test]
fn doses_made_by_our_additions_agree() {
    compare::library::extended_waters()[1].assert();
}

#[test]
fn ten_milligrams_of_each_substance_do_what_the_check_table_says() {
    compare::library::dose_table().assert();
}
