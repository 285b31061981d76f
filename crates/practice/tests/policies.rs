//! The good plan beside the label rule, on a committed set of tubs: the same looks, kits, weather, bathers and noise.
//!
//! The numbers of docs/practice.md come from `examples/side_by_side.rs`, over more tubs and weeks.

use practice::policy::{Beside, beside, usual_looks};
use practice::{DIFFICULTIES, Difficulty, Setup, Unsafe};

const SEEDS: std::ops::RangeInclusive<u64> = 1..=8;

fn all(difficulty: Difficulty) -> Vec<Beside> {
    SEEDS
        .map(|seed| {
            let setup = Setup { seed, difficulty, weeks: 4 };
            beside(setup, &usual_looks(setup)).expect("a game")
        })
        .collect()
}

#[test]
fn the_good_plan_keeps_what_bathers_meet_in_band_for_longer_than_the_label_rule() {
    for difficulty in DIFFICULTIES {
        let games = all(difficulty);
        let n = games.len() as f64;
        let mean = |of: &dyn Fn(&Beside) -> f64| games.iter().map(of).sum::<f64>() / n;
        let plan = mean(&|b| b.plan.score.fit_inside);
        let label = mean(&|b| b.label.score.fit_inside);
        assert!(plan > label, "{}: plan {plan:.3}, label {label:.3}", difficulty.id());
        let better = games.iter().filter(|b| b.plan.score.fit_inside > b.label.score.fit_inside).count();
        assert!(better * 4 >= games.len() * 3, "{}: better in {better} of {n}", difficulty.id());
    }
}

/// Common random numbers: what comes from outside is the same for both.
#[test]
fn both_have_the_same_tub_baths_and_first_readings() {
    for both in all(Difficulty::Usual) {
        assert_eq!(both.plan.true_volume_l.to_bits(), both.label.true_volume_l.to_bits());
        assert_eq!(both.plan.score.baths, both.label.score.baths);
        let first = |e: &practice::Ended| e.log[0].clone();
        assert_eq!(first(&both.plan), first(&both.label));
    }
}

/// A plan keeps its own prediction from pH 6.8 up. Here volume, capfuls and strengths are not what it was told, so that now
/// and then a dose goes further (measured: once in these games); and nobody doses among people.
#[test]
fn a_good_plan_seldom_takes_the_water_to_an_extreme_in_a_world_that_it_does_not_know() {
    let mut extremes = 0;
    let games = all(Difficulty::Easy).into_iter().chain(all(Difficulty::Usual));
    for moment in games.flat_map(|both| both.plan.score.unsafe_moments) {
        assert!(!matches!(moment, Unsafe::DosedAmongPeople { .. }), "{moment:?}");
        extremes += usize::from(matches!(moment, Unsafe::ExtremePh { .. }));
    }
    assert!(extremes <= 1, "{extremes} doses went below pH 6.5 or above 8.6");
}

/// Found by playing sixty tubs: chlorine dosed onto much combined chlorine, which the usual tolerance cannot follow.
#[test]
fn chlorine_onto_chloramines_is_followed_too() {
    let setup = Setup { seed: 28, difficulty: Difficulty::Usual, weeks: 3 };
    let label = practice::play(setup, &mut practice::policy::ByLabel::default(), &usual_looks(setup));
    let ended = label.expect("it is followed");
    let combined =
        ended.score.in_band.iter().find(|b| b.quantity == care::quantity::Quantity::CombinedChlorine);
    assert!(combined.is_some_and(|b| b.above > 0.1), "{combined:?}");
}
