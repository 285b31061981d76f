//! A solve needs no heap: everything it touches is on the stack, so that a plan can make thousands without waiting for memory.

use water::titration::{ALKALINITY_END_POINT, Dechlorination, titrated_alkalinity};
use water::{Celsius, Chemical, Equilibria, Ph, Totals, addition};

#[test]
fn nothing_is_allocated_in_a_solve() {
    let water = Totals {
        alkalinity: 3e-3,
        carbon: 2.5e-3,
        calcium: 1.5e-3,
        magnesium: 0.5e-3,
        sodium: 0.04,
        potassium: 1e-3,
        sulfate: 1e-3,
        chloride: 0.04,
        boron: 2e-3,
        cyanurate: 4e-4,
        free_chlorine: 5e-5,
        ammonia: 2e-5,
        bromide: 1e-4,
        ..Totals::default()
    };
    let mut solved = Vec::with_capacity(8);
    let counted = allocation_counter::measure(|| {
        let at = Equilibria::at(Celsius(38.0)).unwrap();
        let s = at.solve(&water).unwrap();
        let dosed = addition::add(&water, Chemical::SodiumBisulfate, 1e-4).unwrap();
        let end = titrated_alkalinity(&at, &water, ALKALINITY_END_POINT, Dechlorination::Thiosulfate);
        solved.extend([
            s.ph().0,
            at.solve_from(&dosed, Some(&s)).unwrap().ph().0,
            at.solve_at_ph(&water, Ph(7.5)).unwrap().totals.carbon,
            end.unwrap(),
            s.buffering().capacity_eq_kg_per_ph,
            at.calcite_saturation_index(&s),
        ]);
    });
    assert_eq!(counted.count_total, 0, "{counted:?}");
    assert!(solved.iter().all(|x| x.is_finite()), "{solved:?}");
    // The counter does count.
    assert_eq!(allocation_counter::measure(|| drop(std::hint::black_box(vec![1.0]))).count_total, 1);
}
