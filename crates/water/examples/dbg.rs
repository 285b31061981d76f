//! x
use std::hint::black_box;
use water::*;
fn main() {
    let at = Equilibria::at(Celsius(33.8)).unwrap();
    let t = Totals {
        alkalinity: 0.001742484038,
        carbon: 0.0017206,
        calcium: 0.003132641349,
        magnesium: 0.0004106150998,
        potassium: 0.0001273712668,
        chloride: 0.001795616732,
        sulfate: 0.002347074745,
        sodium: 0.001018366096,
        ..Totals::default()
    };
    let s = at.solve(&t).unwrap();
    println!("{} {}", s.sweeps, s.ph().0);
    let n = 200000;
    let i = std::time::Instant::now();
    for _ in 0..n {
        black_box(Equilibria::at(black_box(Celsius(33.8))).unwrap());
    }
    println!("at {:?}", i.elapsed() / n);
    let i = std::time::Instant::now();
    for _ in 0..n {
        black_box(at.solve(black_box(&t)).unwrap());
    }
    println!("solve {:?}", i.elapsed() / n);
    let i = std::time::Instant::now();
    for _ in 0..n {
        black_box(at.solve_from(black_box(&t), Some(&s)).unwrap());
    }
    println!("warm {:?} ", i.elapsed() / n);
}
