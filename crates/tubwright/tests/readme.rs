//! The README shows what the program prints, and its two commands work.
//!
//! A block of the README marked `console` is a command and its output. After a change of what is printed:
//! `TUBWRIGHT_WRITE_README=1 cargo test -p tubwright --test readme`, then read the difference.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// How the README starts the program from a clone.
const FROM_A_CLONE: &str = "cargo run --release -- ";

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn readme() -> String {
    fs::read_to_string(root().join("README.md")).expect("README.md")
}

/// The program at the root of the clone, 80 columns wide, UTF-8.
fn run(command: &str) -> Output {
    let arguments = command
        .strip_prefix(FROM_A_CLONE)
        .unwrap_or_else(|| panic!("\"{command}\" does not start with \"{FROM_A_CLONE}\""));
    Command::new(env!("CARGO_BIN_EXE_tubwright"))
        .args(arguments.split_whitespace())
        .current_dir(root())
        .env("COLUMNS", "80")
        .env("LC_ALL", "C.UTF-8")
        .output()
        .expect("the program starts")
}

/// The README as it would be if every `console` block held what its command prints; and how many there are.
fn with_real_output(readme: &str) -> (String, usize) {
    let mut lines = readme.lines();
    let mut real = String::new();
    let mut blocks = 0;
    while let Some(line) = lines.next() {
        real.push_str(line);
        real.push('\n');
        if line != "```console" {
            continue;
        }
        let prompt = lines.next().expect("a command");
        let output = run(prompt.strip_prefix("$ ").expect("a prompt"));
        assert!(output.status.success(), "{prompt}: {}", String::from_utf8_lossy(&output.stderr));
        let shown = String::from_utf8(output.stdout).expect("UTF-8");
        real.push_str(&format!("{prompt}\n{shown}```\n"));
        lines.find(|l| *l == "```").expect("the block's end");
        blocks += 1;
    }
    (real, blocks)
}

#[test]
fn every_output_in_the_readme_is_what_the_program_prints() {
    let readme = readme();
    let (real, blocks) = with_real_output(&readme);
    assert!(blocks > 0, "the README shows no output");
    if std::env::var_os("TUBWRIGHT_WRITE_README").is_some() {
        fs::write(root().join("README.md"), real).expect("README.md is written");
        return;
    }
    let changed = real.lines().zip(readme.lines()).find(|(now, then)| now != then);
    assert!(
        real == readme,
        "README.md shows old output: run with TUBWRIGHT_WRITE_README=1 and look at the difference.\n\
         First changed line (now, then): {changed:#?}"
    );
}

#[test]
fn the_two_commands_are_the_built_in_case_and_what_is_run_before_each_change() {
    let readme = readme();
    let block =
        readme.split("```sh\n").nth(1).and_then(|rest| rest.split("```").next()).expect("the commands");
    let commands: Vec<&str> = block.lines().map(|l| l.split('#').next().unwrap_or(l).trim()).collect();
    let [job, tests] = commands[..] else { panic!("two commands, not {commands:?}") };
    let output = run(job);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(String::from_utf8_lossy(&output.stdout).contains("What to do"), "{job} makes no plan");
    let checks = fs::read_to_string(root().join(".ci/run")).expect(".ci/run");
    assert!(checks.lines().any(|l| l == tests), "\"{tests}\" is not a line of .ci/run");
}
