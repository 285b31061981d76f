//! The world keeps its promises: one seed, one world, whatever the learner does; what is done can be done again; mass and
//! charge are kept; difficulty strays as it says.

use practice::policy::usual_looks;
use practice::{DIFFICULTIES, Difficulty, Ended, Game, Move, SCORED, Seen, Setup};

const SETUP: Setup = Setup { seed: 11, difficulty: Difficulty::Usual, weeks: 2 };

fn played(setup: Setup, moves: &str) -> Game {
    Game::replayed(setup, &Move::list(moves).expect("moves")).expect("a game")
}

fn readings(game: &Game) -> Vec<Seen> {
    game.log().iter().map(|l| l.seen.clone()).filter(|s| matches!(s, Seen::Read { .. })).collect()
}

const WEEK: &str = "read ph; read chlorine; dose acid 0.25; dose chlorine 0.5; wait 2; read ph; read alkalinity; top-up; \
                    air 1; wait 3; read chlorine strip; replace 0.2; wait 9";

#[test]
fn the_same_moves_in_the_same_world_give_the_same_game_to_the_last_bit() {
    let bits = |ended: &Ended| -> Vec<u64> {
        ended.course.iter().flat_map(|s| s.values.iter().map(|v| v.unwrap_or(0.0).to_bits())).collect()
    };
    let (one, other) = (played(SETUP, WEEK), played(SETUP, WEEK));
    assert_eq!(one.log(), other.log());
    let (one, other) = (one.end().unwrap(), other.end().unwrap());
    assert!(one.course.len() > 80);
    assert_eq!(bits(&one), bits(&other));
    let third = played(Setup { seed: 12, ..SETUP }, WEEK).end().unwrap();
    assert_ne!(bits(&one), bits(&third));
}

#[test]
fn a_game_is_the_same_made_move_by_move_and_replayed() {
    let mut game = Game::new(SETUP).unwrap();
    for next in Move::list(WEEK).unwrap() {
        game.make(&next).unwrap();
    }
    assert_eq!(game.log(), played(SETUP, WEEK).log());
}

/// Baths are the household's: neither their number nor their days hang on what is dosed.
#[test]
fn bathers_come_whatever_the_learner_does() {
    let baths = |moves: &str| -> Vec<usize> {
        played(SETUP, moves)
            .log()
            .iter()
            .filter_map(|l| if let Seen::Waited { baths, .. } = l.seen { Some(baths) } else { None })
            .collect()
    };
    let idle = baths("wait 3; wait 3; wait 3; wait 5");
    assert!(idle.iter().sum::<usize>() > 0, "nobody bathed");
    assert_eq!(
        idle,
        baths("read ph; dose acid 0.5; dose chlorine 1; wait 3; top-up; wait 3; replace 0.5; wait 3; wait 5")
            .clone()
    );
}

/// The same kit in the same water at the same moment shows the same, whatever was read with other kits before.
#[test]
fn a_reading_does_not_hang_on_those_before_it() {
    let after = |moves: &str| readings(&played(SETUP, moves)).pop().unwrap();
    assert_eq!(
        after("wait 1; read ph"),
        after("wait 1; read chlorine; read alkalinity; read hardness; read ph")
    );
    // A second look is a second reading: over some games it shows another colour.
    let differs = (1..40).any(|seed| {
        let two = readings(&played(Setup { seed, ..SETUP }, "wait 1; read ph; read ph"));
        two[0] != two[1]
    });
    assert!(differs, "a kit has no noise");
}

#[test]
fn what_cannot_be_done_is_refused_with_nothing_changed() {
    let mut game = Game::new(SETUP).unwrap();
    for (given, said) in [("dose sugar 1", "is accepted"), ("dose acid 1000", "more than a label allows")] {
        let before = (game.at_h(), game.log().len());
        let error = game.make(&Move::parse(given, 1).unwrap()).unwrap_err().to_string();
        assert!(error.contains(said), "{given}: {error}");
        assert_eq!(before, (game.at_h(), game.log().len()));
    }
    assert!(Game::new(Setup { weeks: 0, ..SETUP }).is_err());
    assert!(Game::new(Setup { weeks: 99, ..SETUP }).is_err());
    let mut over = played(SETUP, "wait 28");
    assert!(over.is_over());
    assert!(over.make(&Move::TopUp).is_err());
}

#[test]
fn a_harder_tub_strays_further_from_what_is_told() {
    let spread = |difficulty| {
        let mut sum = 0.0;
        for seed in 0..60 {
            let game = Game::new(Setup { seed, difficulty, weeks: 1 }).unwrap();
            let told = game.case().tub.volume_l;
            sum += (game.end().unwrap().true_volume_l / told - 1.0).abs() / 60.0;
        }
        sum
    };
    let [easy, usual, hard] = DIFFICULTIES.map(spread);
    assert!(easy < 0.03, "{easy}");
    assert!((0.04..0.12).contains(&usual), "{usual}");
    assert!(hard > usual, "{hard}");
}

/// Whatever somebody does, the water stays one that can be followed, or is refused in words.
#[test]
fn absurd_learners_break_nothing() {
    let everything = ["acid", "bicarbonate", "calcium", "chlorine", "soda-ash"];
    for seed in 1..6 {
        let setup = Setup { seed, difficulty: Difficulty::Hard, weeks: 1 };
        let mut game = Game::new(setup).unwrap();
        for product in everything.iter().cycle().take(20) {
            let moved = game.make(&Move::Dose { product: (*product).to_string(), measures: 12.0 });
            if let Err(why) = moved {
                assert!(!why.to_string().is_empty());
            }
        }
        let ended = game.end();
        if let Ok(ended) = ended {
            let finite = ended.course.iter().all(|s| s.values.iter().flatten().all(|v| v.is_finite()));
            assert!(finite);
        }
    }
}

#[test]
fn the_usual_looks_lie_within_the_game_and_in_order() {
    for weeks in [1, 4, 8] {
        let looks = usual_looks(Setup { weeks, ..SETUP });
        assert!(looks.windows(2).all(|w| w[0] < w[1]) && looks[0] == 0.0);
        assert!(looks.iter().all(|h| *h < f64::from(weeks) * 168.0));
    }
    assert_eq!(SCORED.len(), 8);
}
