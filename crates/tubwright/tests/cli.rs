//! The built program, from outside: exit codes, which stream says what, and that bad input is named exactly.

mod run;

use run::{Run, Scratch, tubwright};
use serde_json::Value;
use std::fs;

/// A case without a fault; each test breaks one thing in it.
const GOOD: &str = include_str!("good.toml");

/// The plan of a broken case: exit 2, nothing on stdout, nothing written, and each of `said` on stderr.
fn refuses(case: &str, said: &[&str]) {
    let dir = Scratch::new();
    dir.write("case.toml", case.as_bytes());
    for args in [&["plan", "case.toml"][..], &["plan", "case.toml", "--json"]] {
        let run = tubwright(args).within(&dir).run();
        assert_eq!(run.code, 2, "{run:?}\n{case}");
        assert_eq!(run.out, "", "{run:?}");
        for part in said {
            assert!(run.err.contains(part), "no “{part}” in:\n{}", run.err);
        }
        assert_eq!(dir.names(), ["case.toml"], "something was written");
    }
}

/// `GOOD` with one passage replaced.
fn with(from: &str, to: &str) -> String {
    assert_eq!(GOOD.matches(from).count(), 1, "{from} must occur once");
    GOOD.replace(from, to)
}

/// The line of `GOOD` on which a passage stands, from 1.
fn line_of(passage: &str) -> usize {
    1 + GOOD.lines().position(|l| l.contains(passage)).expect("the passage is in the good case")
}

fn at(passage: &str) -> String {
    format!("case.toml:{}: ", line_of(passage))
}

#[test]
fn an_unknown_field_is_named_with_its_line_and_the_nearest_known_one() {
    refuses(
        &with("volume_measured = true", "volume_mesured = true"),
        &[&at("volume_measured"), "tub.volume_mesured is not a known field", "did you mean volume_measured?"],
    );
    refuses(&format!("colour = 'blue'\n{GOOD}"), &["case.toml:1: colour is not a known field"]);
    refuses(
        &with("purity_percent = 93", "purity = 93"),
        &[&at("purity_percent = 93"), "shelf[1].purity is not a known field"],
    );
}

#[test]
fn a_unit_in_the_value_is_refused_and_told_where_it_belongs() {
    refuses(
        &with("volume_l = 1250", "volume_l = \"1250 L\""),
        &[&at("volume_l"), "tub.volume_l is \"1250 L\"", "a number from 50 to 100000 litres", "no unit"],
    );
    refuses(
        &with("value = 7.9", "value = \"7.9 pH\""),
        &[&at("value = 7.9"), "reading[1].value is \"7.9 pH\"", "<0.2"],
    );
}

#[test]
fn an_impossible_value_is_refused_with_what_is_possible() {
    refuses(
        &with("value = 7.9", "value = 79"),
        &[&at("value = 7.9"), "reading[1].value is 79", "pH from 4 to 11 is possible"],
    );
    refuses(
        &with("temperature_c = 38", "temperature_c = 380"),
        &[&at("temperature_c = 38"), "tub.temperature_c is 380", "0 to 45 °C"],
    );
    refuses(&with("volume_l = 1250", "volume_l = -5"), &["tub.volume_l is -5", "50 to 100000 litres"]);
    refuses(&with("volume_l = 1250", "volume_l = nan"), &[&at("volume_l"), "nan is not a finite number"]);
    refuses(
        &with("available_chlorine_percent = 56", "available_chlorine_percent = 90"),
        &["shelf[3].available_chlorine_percent", "64.5 % at most is possible for dichlor"],
    );
}

#[test]
fn a_missing_volume_and_an_empty_shelf_are_told() {
    refuses(&with("volume_l = 1250\n", ""), &["tub.volume_l is missing", "volume_gal", &at("[tub]")]);
    refuses(
        &with("volume_l = 1250", "volume_l = 1250\nvolume_gal = 330"),
        &["tub.volume_gal and volume_l are both given"],
    );
    let shelf = GOOD.find("[[shelf]]").expect("a shelf");
    let readings = GOOD.find("[[reading]]").expect("a reading");
    let bare = format!("{}{}", &GOOD[..shelf], &GOOD[readings..]);
    refuses(&bare, &["shelf is empty", "at least one [[shelf]]"]);
    refuses(&format!("shelf = []\n{bare}"), &["case.toml:1: shelf has 0 items", "1 or more"]);
    refuses("", &["tub is missing", "shelf is empty"]);
}

#[test]
fn unknown_chemicals_methods_and_quantities_come_with_the_nearest() {
    refuses(
        &with("chemical = \"sodium-bisulfate\"", "chemical = \"sodium-bisulphate\""),
        &["shelf[1].chemical is \"sodium-bisulphate\"", "did you mean \"sodium-bisulfate\"?"],
    );
    refuses(
        &with("method = \"phenol-red\"", "method = \"phenol_rd\""),
        &["reading[1].method is \"phenol_rd\"", "did you mean \"phenol-red\"?"],
    );
    refuses(
        &with("quantity = \"ph\"", "quantity = \"pH value\""),
        &["reading[1].quantity is \"pH value\"", "\"ph\""],
    );
    refuses(
        &with("method = \"phenol-red\"", "method = \"turbidity-tube\""),
        &["reading[1].method \"turbidity-tube\" cannot read pH: it reads cyanuric acid"],
    );
    refuses(&format!("{GOOD}\n[band.free_clorine]\nlow = 1\n"), &["did you mean free_chlorine?"]);
}

#[test]
fn readings_that_cannot_both_be_are_named() {
    let second =
        "[[reading]]\nat = 2026-03-14T18:30:00Z\nquantity = \"ph\"\nmethod = \"phenol-red\"\nvalue = 6.8\n";
    refuses(
        &format!("{GOOD}\n{second}"),
        &["value is 6.8", &format!("line {} says 7.9", line_of("[[reading]]")), "both cannot be"],
    );
}

#[test]
fn a_band_beyond_a_hard_limit_or_upside_down_is_refused() {
    refuses(&format!("{GOOD}\n[band.ph]\nlow = 7.6\nhigh = 7.0\n"), &["band.ph.high is 7", "below"]);
    refuses(&format!("{GOOD}\n[band.ph]\nhigh = 9.5\n"), &["band.ph.high is 9.5", "beyond_hard_limit"]);
}

#[test]
fn doses_events_and_times_are_checked() {
    refuses(&format!("{GOOD}\n[[dose]]\nproduct = \"dry acid\"\n"), &["dose[1].mass_g is missing"]);
    refuses(
        &format!("{GOOD}\n[[dose]]\nproduct = \"dry acyd\"\nmass_g = 5\n"),
        &["dose[1].product is \"dry acyd\"", "did you mean \"dry acid\"?"],
    );
    refuses(&format!("{GOOD}\n[[event]]\nkind = \"top-up\"\n"), &["event[1].volume_l is missing"]);
    refuses(
        &format!("{GOOD}\n[[event]]\nkind = \"fill\"\npeople = 2\n"),
        &["event[1].people is given for kind = \"fill\""],
    );
    refuses(
        &format!("{GOOD}\n[[event]]\nkind = \"fill\"\nat = \"last week\"\n"),
        &["event[1].at is \"last week\"", "RFC 3339"],
    );
    refuses(
        &format!("now = 2020-01-01T00:00:00Z\n{GOOD}"),
        &["case.toml:1: now is", "before the latest entry"],
    );
}

#[test]
fn all_faults_are_told_at_once_in_the_order_of_the_lines() {
    let case = GOOD
        .replace("volume_l = 1250", "volume_l = 5")
        .replace("purity_percent = 93", "purity_percent = 930")
        .replace("phenol-red", "phenol-green");
    let dir = Scratch::new();
    dir.write("case.toml", case.as_bytes());
    let run = tubwright(&["plan", "case.toml"]).within(&dir).run();
    let lines: Vec<usize> = run
        .err
        .lines()
        .map(|l| l.split(':').nth(1).and_then(|n| n.parse().ok()).unwrap_or_else(|| panic!("no line in {l}")))
        .collect();
    assert_eq!(
        lines,
        [line_of("volume_l"), line_of("purity_percent = 93"), line_of("phenol-red")],
        "{}",
        run.err
    );
}

#[test]
fn grammar_binary_junk_and_other_encodings_are_told_by_line() {
    refuses(&with("volume_l = 1250", "volume_l = = 1250"), &[&at("volume_l"), "cannot be read"]);
    refuses(&with("volume_l = 1250", "volume_l = 1250\nvolume_l = 1251"), &["case.toml:", "duplicate key"]);
    let dir = Scratch::new();
    dir.write("junk.toml", &run::junk(1, 4096));
    dir.write("latin.toml", b"[tub]\nname = \"Caf\xe9\"\n");
    dir.write("utf16.toml", b"\xff\xfe[\0t\0u\0b\0]\0");
    for (file, line) in
        [("junk.toml", "junk.toml:"), ("latin.toml", "latin.toml:2: "), ("utf16.toml", "utf16.toml:1: ")]
    {
        let run = tubwright(&["plan", file]).within(&dir).run();
        assert_eq!((run.code, run.out.as_str()), (2, ""), "{run:?}");
        assert!(run.err.contains(line) && run.err.contains("UTF-8"), "{run:?}");
    }
}

#[test]
fn a_file_that_is_too_large_missing_or_a_folder_is_refused_at_once() {
    let dir = Scratch::new();
    let huge = fs::File::create(dir.path("huge.toml")).expect("a file");
    huge.set_len(3 << 30).expect("a sparse file of 3 GiB");
    let start = std::time::Instant::now();
    let run = tubwright(&["plan", "huge.toml"]).within(&dir).run();
    assert_eq!(run.code, 2, "{run:?}");
    assert!(run.err.contains("huge.toml: has 3072 MiB or more; at most 16 MiB"), "{run:?}");
    assert!(start.elapsed().as_secs() < 5, "it was read");

    dir.write("case.toml", format!("entries = \"huge.toml\"\n{GOOD}").as_bytes());
    let run = tubwright(&["plan", "case.toml"]).within(&dir).run();
    assert_eq!(run.code, 2, "{run:?}");
    assert!(
        run.err.contains("case.toml:1: entries is \"huge.toml\"") && run.err.contains("64 MiB"),
        "{run:?}"
    );

    let run = tubwright(&["plan", "nowhere.toml"]).within(&dir).run();
    assert!(run.code == 2 && run.err.contains("nowhere.toml: cannot be read"), "{run:?}");
    let run = tubwright(&["plan", "."]).within(&dir).run();
    assert!(run.code == 2 && run.err.contains("is a folder"), "{run:?}");
}

#[test]
fn a_history_file_is_checked_line_by_line() {
    let dir = Scratch::new();
    dir.write("case.toml", format!("entries = \"history.ndjson\"\n{GOOD}").as_bytes());
    dir.write(
        "history.ndjson",
        b"{\"type\":\"reading\",\"at\":\"2026-03-01T10:00:00Z\",\"quantity\":\"ph\",\"method\":\"comparator\",\"value\":7.4}\n\
          {\"type\":\"reding\"}\n\
          not json\n\
          {\"type\":\"dose\",\"product\":\"dry acid\",\"mass_g\":\"a lot\"}\n\
          {\"type\":\"event\",\"kind\":\"fill\",\"kind\":\"drain\"}\n",
    );
    let run = tubwright(&["plan", "case.toml"]).within(&dir).run();
    assert_eq!(run.code, 2, "{run:?}");
    for part in [
        "history.ndjson:2: type is \"reding\"",
        "history.ndjson:3: this line cannot be read as JSON",
        "history.ndjson:4: mass_g is \"a lot\"",
        "history.ndjson:5: ",
        "given twice",
    ] {
        assert!(run.err.contains(part), "no “{part}” in:\n{}", run.err);
    }
    assert!(!run.err.contains("history.ndjson:1:"), "{run:?}");
}

#[test]
fn random_bytes_and_mutilated_cases_never_make_it_panic() {
    let dir = Scratch::new();
    for seed in 0..24 {
        let mut bytes = if seed % 2 == 0 { run::junk(seed, 2000) } else { GOOD.as_bytes().to_vec() };
        if seed % 2 == 1 {
            for (i, b) in run::junk(seed, 12).chunks(2).enumerate() {
                let at = usize::from(b[0]) * (i + 1) * 7 % bytes.len();
                bytes[at] = b[1];
            }
        }
        dir.write("case.toml", &bytes);
        let run = tubwright(&["plan", "case.toml"]).within(&dir).run();
        assert!(run.code == 0 || run.code == 2, "{seed}: {run:?}");
        let water = tubwright(&["water", "-", "--json"]).fed(&bytes).run();
        assert_eq!(water.code, 2, "{seed}: {water:?}");
        assert!(!water.err.contains("panicked") && !run.err.contains("panicked"), "{seed}");
        for line in water.out.lines() {
            assert!(serde_json::from_str::<Value>(line).expect("JSON")["error"].is_string(), "{line}");
        }
    }
}

const WATER: &str = r#"{"id":"tap","temperature_c":25,"total_alkalinity_mg_l_caco3":80,"ph":7.5,"calcium_mg_l":60,"chloride_mg_l":120,"sulfate_mg_l":60,"balance":"sodium-chloride"}"#;

fn answers(run: &Run) -> Vec<Value> {
    run.out.lines().map(|l| serde_json::from_str(l).unwrap_or_else(|e| panic!("{e}: {l}"))).collect()
}

#[test]
fn water_answers_line_by_line_and_goes_on_after_a_wrong_one() {
    let lines = [
        WATER,
        r#"{"id":7,"temperature_c":25}"#,
        "nonsense",
        "",
        r#"{"id":"last","temperature_c":38,"total_alkalinity_mg_l_caco3":80,"dic_mmol_l":1.7}"#,
    ];
    let run = tubwright(&["water", "--json"]).fed(lines.join("\n").as_bytes()).run();
    assert_eq!(run.code, 2, "{run:?}");
    assert!(run.err.contains("2 of 5 lines were wrong"), "{run:?}");
    let out = answers(&run);
    assert_eq!(out.len(), 4);
    assert_eq!(
        (&out[0]["id"], out[0]["ph"].as_f64().map(|p| (p * 1e6).round())),
        (&Value::from("tap"), Some(7.5e6))
    );
    assert_eq!(out[1]["id"], 7);
    for part in ["total_alkalinity_mg_l_caco3 is missing", "ph and dic_mmol_l are both missing"] {
        assert!(out[1]["error"].as_str().is_some_and(|e| e.contains(part)), "{}", out[1]);
    }
    assert!(out[2]["error"].is_string() && out[2].get("id").is_none());
    assert_eq!(out[3]["id"], "last");
    assert!(out[3]["calcite_saturation_index"].is_null(), "no calcium, no index");
    for name in ["H+", "OH-", "CO2", "HCO3-", "CO3-2"] {
        assert!(out[3]["species_mol_kg"][name].as_f64().is_some_and(|m| m > 0.0), "{name}");
        assert!(out[3]["log10_activity_coefficient"][name].is_f64(), "{name}");
    }
}

#[test]
fn water_names_the_field_for_every_kind_of_fault() {
    let swap = |from: &str, to: &str| WATER.replace(from, to);
    let cases = [
        (swap("\"ph\":7.5", "\"ph\":7.5,\"dic_mmol_l\":1"), "ph and dic_mmol_l are both given"),
        (swap("\"ph\":7.5", "\"ph\":17.5"), "ph is 17.5; a number from 4 to 11 is accepted"),
        (swap("\"ph\":7.5", "\"ph\":null"), "ph is null"),
        (swap("\"ph\":7.5", "\"ph\":\"7.5\""), "ph is \"7.5\"; a number from 4 to 11 is accepted"),
        (swap("calcium_mg_l", "calcium_mgl"), "did you mean calcium_mg_l?"),
        (
            swap("\"calcium_mg_l\"", "\"calcium_hardness_mg_l_caco3\":1,\"calcium_mg_l\""),
            "calcium_hardness_mg_l_caco3 are both given",
        ),
        (swap("\"temperature_c\":25,", ""), "temperature_c is missing"),
        (
            swap("\"temperature_c\":25", "\"temperature_c\":90"),
            "temperature_c is 90; a number from 0 to 50 °C",
        ),
        (swap("sodium-chloride", "salt"), "balance is \"salt\", which is not known"),
        (
            swap("\"total_alkalinity_mg_l_caco3\":80", "\"total_alkalinity_mg_l_caco3\":-1"),
            "total_alkalinity_mg_l_caco3 is -1",
        ),
        (swap("\"id\":\"tap\"", "\"ph\":7.5"), "the field ph is given twice"),
        (
            swap("}", ",\"additions\":[{\"chemical\":\"vinegar\",\"mmol_l\":1}]}"),
            "additions[1].chemical is \"vinegar\"",
        ),
        (swap("}", ",\"additions\":[{\"chemical\":\"borax\"}]}"), "additions[1].mmol_l is missing"),
        (swap("}", ",\"additions\":[{\"chemical\":\"borax\",\"mmol_l\":-1}]}"), "additions[1].mmol_l is -1"),
        (
            swap("}", ",\"additions\":[{\"chemical\":\"water\",\"mmol_l\":1}]}"),
            "additions[1].litres_per_litre is missing",
        ),
        (
            swap("}", ",\"additions\":[{\"chemical\":\"water\",\"l_l\":1,\"source\":{\"ph\":99}}]}"),
            "additions[1].source.ph is 99",
        ),
        (
            swap("}", ",\"additions\":[{\"chemical\":\"hydrochloric-acid\",\"mmol_l\":90}]}"),
            "ph (as it results)",
        ),
        (
            swap("}", ",\"additions\":[{\"chemical\":\"carbon-dioxide\",\"mmol_l\":-90}]}"),
            "dissolved inorganic carbon",
        ),
        ("[1]".into(), "is a list of 1; a table is accepted"),
    ];
    for (line, said) in cases {
        let run = tubwright(&["water", "-", "--json"]).fed(line.as_bytes()).run();
        let error = answers(&run)[0]["error"].as_str().unwrap_or_default().to_owned();
        assert_eq!(run.code, 2, "{line}");
        assert!(error.contains(said), "{line}\n{error}\nlacks: {said}");
    }
}

/// Standard water and doses of the table in the project's chemistry reference, computed there with PHREEQC:
/// 10.000 mg of the pure substance per kilogram, closed, at 25 °C. Tolerance: half of the last printed digit and
/// the 0.001 of pH that is promised.
#[test]
fn additions_move_the_ph_as_the_reference_library_says() {
    let standard = |additions: &str| {
        format!(
            "{{\"temperature_c\":25,\"total_alkalinity_mg_l_caco3\":80,\"ph\":7.5,\"calcium_mg_l\":60,\"magnesium_mg_l\":6,\
             \"potassium_mg_l\":5,\"sodium_mg_l\":60.16,\"chloride_mg_l\":120,\"sulfate_mg_l\":60,\"additions\":[{additions}]}}"
        )
    };
    let table = [
        ("sodium-bisulfate", 10.0 / 120.06, -0.2741),
        ("sodium-carbonate", 10.0 / 105.99, 0.5765),
        ("sodium-bicarbonate", 10.0 / 84.007, 0.0264),
        ("borax", 10.0 / 381.37, 0.2498),
        ("calcium-chloride", 10.0 / 110.98, -0.0016),
        ("carbon-dioxide", 10.0 / 44.010, -0.5023),
    ];
    for (chemical, mmol, dph) in table {
        let line = standard(&format!("{{\"chemical\":\"{chemical}\",\"mmol_l\":{mmol}}}"));
        let run = tubwright(&["water", "--json"]).fed(line.as_bytes()).run();
        let ph = answers(&run)[0]["ph"].as_f64().unwrap_or_else(|| panic!("{run:?}"));
        assert!((ph - 7.5 - dph).abs() < 0.00105, "{chemical}: {} against {dph}", ph - 7.5);
    }
}

#[test]
fn mixing_with_another_water_is_exact_in_mass() {
    let line = r#"{"temperature_c":38,"total_alkalinity_mg_l_caco3":100,"ph":7.5,"salt_mg_l":3000,"cyanuric_acid_mg_l":60,"additions":[{"chemical":"water","litres_per_litre":3,"source":{"temperature_c":10,"total_alkalinity_mg_l_caco3":20,"ph":7.0}}]}"#;
    let run = tubwright(&["water", "--json"]).fed(line.as_bytes()).run();
    let out = &answers(&run)[0];
    let alkalinity = out["total_alkalinity_mg_l_caco3"].as_f64().unwrap_or_default();
    assert!((alkalinity - 40.0).abs() < 1e-9, "(100 + 3·20)/4 = 40, not {alkalinity}");
    let species = out["species_mol_kg"].as_object().expect("species");
    let sum = |part: &str| -> f64 {
        species.iter().filter(|(name, _)| name.contains(part)).filter_map(|(_, m)| m.as_f64()).sum()
    };
    assert!((sum("Cl-") * 58.443e3 - 750.0).abs() < 1e-6, "chloride as NaCl: {}", sum("Cl-") * 58.443e3);
    assert!((sum("Cy") * 129.07e3 - 15.0).abs() < 1e-9);
}

#[test]
fn a_line_without_end_does_not_fill_the_memory() {
    let mut bytes = vec![b'x'; 8 << 20];
    bytes.push(b'\n');
    bytes.extend_from_slice(WATER.as_bytes());
    let run = tubwright(&["water", "--json"]).fed(&bytes).run();
    let out = answers(&run);
    assert!(out[0]["error"].as_str().is_some_and(|e| e.contains("too long")), "{}", out[0]);
    assert_eq!(out[1]["id"], "tap");
}

#[test]
fn schemas_are_json_schema_with_units_and_descriptions() {
    for (of, field) in
        [("case", "volume_l"), ("water", "total_alkalinity_mg_l_caco3"), ("plan", "out_of_band_after")]
    {
        let run = tubwright(&["schema", of]).run();
        assert_eq!((run.code, run.err.as_str()), (0, ""));
        let schema: Value = serde_json::from_str(&run.out).expect("JSON");
        assert_eq!(schema["$schema"], "https://json-schema.org/draft/2020-12/schema", "{of}");
        assert!(run.out.contains(field) && run.out.contains("description"), "{of}");
    }
}

#[test]
fn the_books_shapes_are_listed_and_every_listed_shape_is_printed() {
    let list = tubwright(&["schema"]).run();
    assert_eq!((list.code, list.err.as_str()), (0, ""));
    let listed: Vec<&str> = list.out.lines().filter_map(|l| l.split_whitespace().next()).collect();
    for kind in book::KINDS.into_iter().filter(|k| book::body_schema(*k).is_some()) {
        assert!(listed.contains(&kind.id()), "{kind} is not in:\n{}", list.out);
        let run = tubwright(&["schema", kind.id()]).run();
        let printed: Value = serde_json::from_str(&run.out).expect("JSON");
        assert_eq!(Some(printed), book::body_schema(kind), "{kind}");
    }
    // What has no shape of its own is a part of the case.
    for kind in book::KINDS.into_iter().filter(|k| book::body_schema(*k).is_none()) {
        assert!(list.out.contains(kind.id()), "{kind} is not in:\n{}", list.out);
    }
}

#[test]
fn new_writes_once_and_never_over_a_file() {
    let dir = Scratch::new();
    let run = tubwright(&["new", "tub.toml"]).within(&dir).run();
    assert_eq!((run.code, run.out.as_str()), (0, ""), "{run:?}");
    let written = dir.read("tub.toml");
    let again = tubwright(&["new", "tub.toml", "--bromine"]).within(&dir).run();
    assert!(again.code == 2 && again.err.contains("is there already"), "{again:?}");
    assert_eq!(dir.read("tub.toml"), written);
    assert!(written.contains("regime = \"salt-cell\""));
    let printed = tubwright(&["new", "-", "--chlorine"]).within(&dir).run();
    assert!(printed.out.contains("regime = \"chlorine\""));
    assert_eq!(dir.names(), ["tub.toml"]);
}

#[test]
fn help_completions_and_manual_exist_and_wrong_usage_is_2() {
    for args in [&["--help"][..], &["plan", "--help"], &["water", "--help"], &["new", "--help"]] {
        let run = tubwright(args).run();
        assert_eq!(run.code, 0, "{run:?}");
        assert!(run.out.contains("Example"), "{args:?}");
    }
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        assert!(tubwright(&["completions", shell]).run().out.contains("tubwright"), "{shell}");
    }
    assert!(tubwright(&["man"]).run().out.starts_with(".ie"));
    assert!(tubwright(&["man", "plan"]).run().out.contains("CASE.toml"));
    assert_eq!(tubwright(&["man", "nothing"]).run().code, 2);
    for args in [&["plan"][..], &["plann"], &["plan", "--unit"], &[]] {
        assert_eq!(tubwright(args).run().code, 2, "{args:?}");
    }
}

#[test]
fn a_reader_that_goes_away_is_no_error() {
    use std::process::{Command, Stdio};
    let dir = Scratch::new();
    let many: String = (0..20_000).map(|_| format!("{WATER}\n")).collect();
    dir.write("many.ndjson", many.as_bytes());
    let mut child = Command::new(env!("CARGO_BIN_EXE_tubwright"))
        .args(["water", "many.ndjson", "--json"])
        .current_dir(dir.path(""))
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    drop(child.stdout.take());
    let output = child.wait_with_output().expect("it ends");
    assert_eq!(output.status.code(), Some(0));
    assert!(output.stderr.is_empty(), "{}", String::from_utf8_lossy(&output.stderr));
}

#[test]
fn nothing_is_ever_coloured() {
    for args in [&["--help"][..], &["plan", "--help"], &["nonsense"], &["new", "-"]] {
        let run = tubwright(args).env("NO_COLOR", "1").run();
        assert!(!run.out.contains('\u{1b}') && !run.err.contains('\u{1b}'), "{args:?}");
    }
}

#[test]
fn the_example_is_a_plan_and_its_json_keeps_the_contract() {
    let run = tubwright(&["plan", "--example", "--json"]).run();
    assert_eq!((run.code, run.err.as_str()), (0, ""));
    let plan: Value = serde_json::from_str(&run.out).expect("JSON alone on stdout");
    for name in
        ["water_before", "steps", "out_of_band_after", "cost", "not_done", "look_again", "assumptions"]
    {
        assert!(!plan[name].is_null(), "{name}");
    }
    for name in ["after_hours", "quantities", "why"] {
        assert!(!plan["look_again"][name].is_null(), "look_again.{name}");
    }
    let steps = plan["steps"].as_array().expect("steps");
    assert!(steps.iter().any(|s| s["kind"] == "add" && s["mass_g"].as_f64().is_some_and(|g| g > 0.0)));
    let kinds = ["add", "replace-water", "circulate", "wait", "retest", "leave-open", "keep-out"];
    for (i, step) in steps.iter().enumerate() {
        assert_eq!(step["order"], i + 1);
        assert!(kinds.contains(&step["kind"].as_str().expect("a kind")), "{step}");
        for name in
            ["measure_text", "pre_dissolve", "jets_on", "cover", "wait_min", "why", "cautions", "water_after"]
        {
            assert!(!step[name].is_null(), "steps.{name}");
        }
        for name in ["chemical", "mass_g"] {
            assert!(step.get(name).is_some(), "steps.{name}");
        }
        for name in
            ["ph", "dic_mmol_l", "total_alkalinity_mg_l_caco3", "calcite_saturation_index", "species_mol_kg"]
        {
            assert!(!step["water_after"][name].is_null(), "water_after.{name}");
        }
        let ph = &step["water_after"]["quantities"]["ph"];
        let n = |key: &str| ph[key].as_f64().unwrap_or_else(|| panic!("{key} in {ph}"));
        assert!(n("low") <= n("value") && n("value") <= n("high"));
    }
    assert_eq!(
        tubwright(&["plan", "--example", "--json"]).run().out,
        run.out,
        "the same input, the same plan"
    );
}

#[test]
fn a_plan_for_people_fits_its_terminal_and_its_locale() {
    for (columns, locale, units) in
        [("80", "C.UTF-8", "metric"), ("80", "C", "us"), ("46", "C.UTF-8", "us"), ("200", "C", "metric")]
    {
        let run = tubwright(&["plan", "--example", "--units", units])
            .env("COLUMNS", columns)
            .env("LC_ALL", locale)
            .run();
        assert_eq!((run.code, run.err.as_str()), (0, ""));
        let most = columns.parse::<usize>().expect("a number").min(100);
        for line in run.out.lines() {
            assert!(line.chars().count() <= most, "{columns}: {line}");
        }
        assert!(locale != "C" || run.out.is_ascii());
        assert!(run.out.contains("(invented example)") && run.out.contains("local code"), "{}", run.out);
        assert!(!run.out.contains('\u{1b}'));
        assert_eq!(run.out.contains(" oz"), units == "us", "{}", run.out);
        for foreign in
            if units == "us" { [" g", "kg", "mL", "L", "°C"] } else { [" oz", "lb", "fl", "gal", "°F"] }
        {
            let alone = |text: &str| !text.starts_with(|c: char| c.is_alphanumeric());
            let found = run.out.match_indices(foreign).find(|(at, _)| {
                let before = run.out[..*at].ends_with(|c: char| c.is_alphanumeric() || c == '/');
                (foreign.starts_with(' ') || !before) && alone(&run.out[at + foreign.len()..])
            });
            assert_eq!(found, None, "{units}: {}", run.out);
        }
    }
}

#[test]
fn us_units_change_the_sentences_of_json_and_none_of_its_figures() {
    let plan = |units: &str| -> Value {
        let run = tubwright(&["plan", "--example", "--json", "--units", units]).run();
        assert_eq!((run.code, run.err.as_str()), (0, ""));
        serde_json::from_str(&run.out).expect("JSON")
    };
    fn without_sentences(value: Value) -> Value {
        match value {
            Value::String(_) => Value::Null,
            Value::Array(items) => Value::Array(items.into_iter().map(without_sentences).collect()),
            Value::Object(fields) => {
                Value::Object(fields.into_iter().map(|(k, v)| (k, without_sentences(v))).collect())
            }
            other => other,
        }
    }
    let (metric, us) = (plan("metric"), plan("us"));
    let volume = |plan: &Value| {
        let assumptions = plan["assumptions"].as_array().expect("a list").clone();
        assumptions
            .iter()
            .filter_map(Value::as_str)
            .find(|a| a.starts_with("The volume is"))
            .map(str::to_owned)
    };
    assert!(volume(&metric).is_some_and(|v| v.contains("1250 L")));
    assert!(volume(&us).is_some_and(|v| v.contains("330 US gal"))); // 1250 / 3.785411784
    assert_eq!(without_sentences(metric), without_sentences(us));
}

#[test]
fn every_case_that_new_writes_and_the_good_case_make_a_plan() {
    let dir = Scratch::new();
    dir.write("good.toml", GOOD.as_bytes());
    for regime in ["--salt-cell", "--chlorine", "--bromine"] {
        let file = format!("tub{regime}.toml");
        assert_eq!(tubwright(&["new", &file, regime]).within(&dir).run().code, 0);
    }
    for file in dir.names() {
        for form in [&["plan", file.as_str()][..], &["plan", file.as_str(), "--json"]] {
            let run = tubwright(form).within(&dir).run();
            assert_eq!((run.code, run.err.as_str()), (0, ""), "{file}");
            assert!(!run.out.is_empty());
        }
    }
    assert_eq!(dir.names().len(), 4, "a plan writes nothing");
}

#[test]
fn a_history_file_and_the_same_entries_in_the_case_make_the_same_plan() {
    let dir = Scratch::new();
    let start = GOOD.find("[[reading]]").expect("readings");
    let without = &GOOD[..start];
    dir.write("inside.toml", GOOD.as_bytes());
    dir.write("beside.toml", format!("entries = \"history.ndjson\"\n{without}").as_bytes());
    dir.write(
        "history.ndjson",
        b"{\"type\":\"reading\",\"at\":\"2026-03-14T18:30:00Z\",\"quantity\":\"ph\",\"method\":\"phenol-red\",\"value\":7.9}\n\n\
          {\"type\":\"reading\",\"at\":\"2026-03-14T19:30:00+01:00\",\"quantity\":\"total_alkalinity\",\"method\":\"drop-titration-10\",\"drops\":11}\n",
    );
    let inside = tubwright(&["plan", "inside.toml", "--json"]).within(&dir).run();
    let beside = tubwright(&["plan", "beside.toml", "--json"]).within(&dir).run();
    assert_eq!((inside.code, beside.code), (0, 0), "{}{}", inside.err, beside.err);
    let steps = |run: &Run| serde_json::from_str::<Value>(&run.out).expect("JSON")["steps"].clone();
    assert_eq!(steps(&inside), steps(&beside));
}
