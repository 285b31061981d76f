//! The plan that looks ahead beside the label rule, on a committed set of tubs: the same looks, kits, weather, bathers and
//! noise.
//!
//! The numbers of docs/practice.md come from `examples/side_by_side.rs`, over more tubs and weeks.

use practice::policy::{Beside, beside, usual_looks};
use practice::{DIFFICULTIES, Difficulty, Setup, Unsafe};
use std::sync::LazyLock;

const SEEDS: std::ops::RangeInclusive<u64> = 1..=4;
const WEEKS: u32 = 4;

/// The games, played once for all tests, each difficulty by a thread of its own.
static GAMES: LazyLock<Vec<(Difficulty, Vec<Beside>)>> = LazyLock::new(|| {
    let play = |difficulty| {
        let each = SEEDS.map(|seed| {
            let setup = Setup { seed, difficulty, weeks: WEEKS };
            beside(setup, &usual_looks(setup)).expect("a game")
        });
        (difficulty, each.collect())
    };
    std::thread::scope(|threads| {
        let all = DIFFICULTIES.map(|difficulty| threads.spawn(move || play(difficulty)));
        all.into_iter().map(|game| game.join().expect("played")).collect()
    })
});

fn all(difficulty: Difficulty) -> &'static [Beside] {
    let found = GAMES.iter().find(|(of, _)| *of == difficulty);
    &found.expect("every difficulty is played").1
}

/// What bathers meet on every difficulty. Free chlorine alone (with pH) on hard is held longer by the label rule, which piles up
/// the cyanuric acid that slows it down: chlorine that is there and hardly disinfects (docs/practice.md).
#[test]
fn the_plan_keeps_the_water_in_band_for_longer_than_the_label_rule() {
    for difficulty in DIFFICULTIES {
        let games = all(difficulty);
        let mean = |of: &dyn Fn(&Beside) -> f64| games.iter().map(of).sum::<f64>() / games.len() as f64;
        let plan = mean(&|b| b.plan.score.fit_inside);
        let label = mean(&|b| b.label.score.fit_inside);
        assert!(plan > label, "{}: what bathers meet: plan {plan:.3}, label {label:.3}", difficulty.id());
        let plan = mean(&|b| b.plan.score.both_inside);
        let label = mean(&|b| b.label.score.both_inside);
        let held = plan > label || difficulty == Difficulty::Hard;
        assert!(held, "{}: pH and free chlorine: plan {plan:.3}, label {label:.3}", difficulty.id());
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
    let games = all(Difficulty::Easy).iter().chain(all(Difficulty::Usual));
    for moment in games.flat_map(|both| &both.plan.score.unsafe_moments) {
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
