//! `tubwright account`, and what `serve` asks for before it listens to others.

mod run;

use run::{Scratch, tubwright};

const PASSWORD: &[u8] = b"seven grey herons wading\n";

#[test]
fn accounts_are_made_named_changed_and_closed() {
    let dir = Scratch::new();
    let account = |args: &[&str], stdin: &[u8]| {
        let mut all = vec!["account", "--book", "t.book"];
        all.extend_from_slice(args);
        tubwright(&all).within(&dir).fed(stdin).run()
    };
    let made =
        account(&["add", "Ana", "--name", "Ana (invented)", "--role", "lead", "--password-stdin"], PASSWORD);
    assert_eq!((made.code, made.out.as_str()), (0, ""), "{}", made.err);
    assert_eq!(account(&["add", "ben", "--password-stdin"], PASSWORD).code, 0);
    let listed = account(&["list", "--json"], b"");
    let all: serde_json::Value = serde_json::from_str(&listed.out).expect("JSON");
    assert_eq!(all[0]["login"], "ana");
    assert_eq!((&all[0]["role"], &all[1]["role"]), (&"lead".into(), &"technician".into()));

    assert_eq!(account(&["role", "ben", "viewer"], b"").code, 0);
    assert_eq!(account(&["password", "ben", "--password-stdin"], b"a kettle left on the moon\n").code, 0);
    assert_eq!(account(&["disable", "ben"], b"").code, 0);
    let listed = account(&["list"], b"").out;
    assert!(listed.contains("ben") && listed.contains("viewer") && listed.contains("closed"), "{listed}");
    assert_eq!(account(&["enable", "ben"], b"").code, 0);
    let token = account(&["token", "ana", "--name", "nightly", "--reads-only"], b"");
    assert!(token.out.starts_with("tubwright_") && token.out.trim().len() == 53, "{}", token.out);
    assert!(!token.err.contains("tubwright_"), "the secret is data, not talk");

    for (args, stdin, said) in [
        (vec!["add", "ana", "--password-stdin"], PASSWORD, "already"),
        (vec!["add", "cy", "--password-stdin"], b"short\n".as_slice(), "5 signs"),
        (vec!["add", "cy", "--password-stdin"], b"", "0 signs"),
        (vec!["add", "cy", "--role", "king", "--password-stdin"], PASSWORD, "lead, technician or viewer"),
        (vec!["add", "c y", "--password-stdin"], PASSWORD, "\"c y\""),
        (
            vec!["add", "cy", "--person", "0190a0b0-0000-7000-8000-000000000001", "--password-stdin"],
            PASSWORD,
            "no person",
        ),
        (vec!["add", "cy"], PASSWORD, "--password-stdin"),
        (vec!["role", "cy", "lead"], b"", "no account"),
        (vec!["token", "ana", "--name", "x", "--days", "9999"], b"", "366"),
    ] {
        let refused = account(&args, stdin);
        assert_eq!(refused.code, 2, "{args:?}: {}", refused.err);
        assert!(refused.err.contains(said), "{args:?}: {}", refused.err);
    }
}

#[test]
fn others_are_not_listened_to_while_nobody_has_an_account() {
    let dir = Scratch::new();
    for args in [["--listen", "0.0.0.0:0"], ["--public-url", "https://water.example"]] {
        let mut all = vec!["serve", "--book", "t.book"];
        all.extend_from_slice(&args);
        let refused = tubwright(&all).within(&dir).run();
        assert_eq!(refused.code, 2, "{}", refused.err);
        assert!(refused.err.contains("tubwright account add"), "{}", refused.err);
    }
    let refused =
        tubwright(&["serve", "--book", "t.book", "--public-url", "water.example"]).within(&dir).run();
    assert_eq!(refused.code, 2);
    assert!(refused.err.contains("--public-url"), "{}", refused.err);
}
