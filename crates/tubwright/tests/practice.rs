//! `tubwright practice` from outside: piped, scripted, watched; JSON alone on stdout; bad input named with its line.

mod run;

use run::{Scratch, tubwright};

const MOVES: &str = "read ph\nread chlorine\n# a note\ndose acid 0.25\nwait 3\nread alkalinity\nend\n";

fn json(text: &str) -> serde_json::Value {
    serde_json::from_str(text).unwrap_or_else(|e| panic!("{e}: {text}"))
}

#[test]
fn piped_and_scripted_moves_give_the_same_game_and_stand_beside_a_plan() {
    let dir = Scratch::new();
    dir.write("moves.txt", MOVES.as_bytes());
    let fixed = ["practice", "--seed", "7", "--weeks", "2"];
    let piped = tubwright(&fixed).fed(MOVES.as_bytes()).run();
    let scripted = tubwright(&[&fixed[..], &["--script", "moves.txt"]].concat()).within(&dir).run();
    assert_eq!((piped.code, piped.err.as_str()), (0, ""), "{piped:?}");
    assert_eq!(piped.out, scripted.out);
    for part in
        ["invented", "good plan", "label rule", "! Acid: goggles", "In truth the tub holds", "come first"]
    {
        assert!(piped.out.contains(part), "no {part} in {}", piped.out);
    }
}

#[test]
fn json_is_alone_and_has_all_three_and_the_truth() {
    let run = tubwright(&["practice", "--seed", "7", "--weeks", "1", "--json"]).fed(MOVES.as_bytes()).run();
    assert_eq!((run.code, run.err.as_str()), (0, ""), "{run:?}");
    let all = json(&run.out);
    assert_eq!(all["seed"], 7);
    assert_eq!(all["moves"].as_array().map(Vec::len), Some(5));
    assert!(all["moves"][0]["seen"]["value"].is_number(), "{}", all["moves"][0]);
    assert!(all["moves"][2]["seen"]["cautions"][0].is_string());
    for who in ["you", "good_plan", "label_rule"] {
        let inside = &all["result"][who]["in_band"]["ph"]["inside_share"];
        assert!(inside.as_f64().is_some_and(|s| (0.0..=1.0).contains(&s)), "{who}: {inside}");
    }
    assert_eq!(all["truth"]["course"].as_array().map(Vec::len), Some(42));
}

#[test]
fn a_policy_can_be_watched() {
    for who in ["plan", "label"] {
        let run = tubwright(&["practice", "--seed", "3", "--weeks", "1", "--play", who]).run();
        assert_eq!(run.code, 0, "{run:?}");
        assert!(run.out.contains("What was done") && run.out.contains("pH (comparator)"), "{}", run.out);
    }
}

#[test]
fn what_is_wrong_is_named_with_its_line_and_what_is_accepted() {
    let refuses = |args: &[&str], moves: &str, said: &[&str]| {
        let run = tubwright(args).fed(moves.as_bytes()).run();
        assert_eq!((run.code, run.out.as_str()), (2, ""), "{run:?}");
        for part in said {
            assert!(run.err.contains(part), "no {part} in {}", run.err);
        }
    };
    let seeded = ["practice", "--seed", "7"];
    refuses(&seeded, "read ph\nstir\n", &["stdin:2:", "stir", "is no move", "wait DAYS"]);
    refuses(&seeded, "\nread iron\n", &["stdin:2:", "ph", "is accepted"]);
    refuses(&seeded, "dose acid 900\n", &["stdin:1:", "more than a label allows", "at most"]);
    refuses(&seeded, "dose sugar 1\n", &["sugar", "not on the shelf", "acid"]);
    refuses(&seeded, "wait 28\nread ph\n", &["stdin:2:", "time is up"]);
    refuses(&["practice", "--difficulty", "worst"], "", &["--difficulty", "worst", "easy, usual or hard"]);
    refuses(&["practice", "--weeks", "0"], "", &["--weeks", "1 to 8"]);
    refuses(&["practice", "--weeks", "9"], "", &["--weeks", "1 to 8"]);
    refuses(&["practice", "--weeks", "-1"], "", &["--weeks", "'-1'", "1 to 8"]);
    refuses(&["practice", "--seed", "-1"], "", &["--seed", "'-1'", "0 to 18446744073709551615"]);
    refuses(&["practice", "--script", "no-such-file"], "", &["no-such-file"]);
}
