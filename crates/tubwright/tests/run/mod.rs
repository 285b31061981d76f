//! Running the built program in a folder of its own.

#![allow(dead_code, reason = "each test file uses its part")]

use std::fs;
use std::io::Write;
use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::sync::atomic::{AtomicU32, Ordering};

/// What a run said.
#[derive(Debug)]
pub(crate) struct Run {
    pub(crate) code: i32,
    pub(crate) out: String,
    pub(crate) err: String,
}

/// A run being set up.
pub(crate) struct Call {
    command: Command,
    stdin: Vec<u8>,
}

/// The program with these arguments, 80 columns wide, UTF-8.
pub(crate) fn tubwright(args: &[&str]) -> Call {
    let mut command = Command::new(env!("CARGO_BIN_EXE_tubwright"));
    command.args(args).env("COLUMNS", "80").env("LC_ALL", "C.UTF-8");
    Call { command, stdin: Vec::new() }
}

impl Call {
    pub(crate) fn within(mut self, dir: &Scratch) -> Self {
        self.command.current_dir(&dir.0);
        self
    }

    pub(crate) fn env(mut self, name: &str, value: &str) -> Self {
        self.command.env(name, value);
        self
    }

    pub(crate) fn fed(mut self, stdin: &[u8]) -> Self {
        self.stdin = stdin.to_vec();
        self
    }

    pub(crate) fn run(mut self) -> Run {
        let mut child = self
            .command
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program starts");
        let mut stdin = child.stdin.take().expect("a pipe");
        let bytes = self.stdin;
        let feeder = std::thread::spawn(move || {
            let _it_may_stop_reading = stdin.write_all(&bytes);
        });
        let output = child.wait_with_output().expect("it ends");
        feeder.join().expect("the feeder ends");
        Run {
            code: output.status.code().unwrap_or(-1),
            out: String::from_utf8(output.stdout).expect("UTF-8 on stdout"),
            err: String::from_utf8_lossy(&output.stderr).into_owned(),
        }
    }
}

/// A folder that goes away with its test.
pub(crate) struct Scratch(PathBuf);

impl Scratch {
    pub(crate) fn new() -> Self {
        static NEXT: AtomicU32 = AtomicU32::new(0);
        let number = NEXT.fetch_add(1, Ordering::Relaxed);
        let dir = std::env::temp_dir().join(format!("tubwright-test-{}-{number}", std::process::id()));
        fs::create_dir_all(&dir).expect("a folder");
        Scratch(dir)
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.0.join(name)
    }

    pub(crate) fn write(&self, name: &str, bytes: &[u8]) {
        fs::write(self.path(name), bytes).expect("it can be written");
    }

    pub(crate) fn read(&self, name: &str) -> String {
        fs::read_to_string(self.path(name)).expect("it can be read")
    }

    /// Names of everything in it, sorted.
    pub(crate) fn names(&self) -> Vec<String> {
        let entries = fs::read_dir(&self.0).expect("a folder");
        let mut names: Vec<String> =
            entries.map(|e| e.expect("an entry").file_name().to_string_lossy().into_owned()).collect();
        names.sort();
        names
    }
}

impl Drop for Scratch {
    fn drop(&mut self) {
        let _it_may_be_gone = fs::remove_dir_all(&self.0);
    }
}

/// Bytes that look like nothing, the same for the same seed (xorshift64, Marsaglia 2003).
pub(crate) fn junk(seed: u64, count: usize) -> Vec<u8> {
    let mut x = seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1;
    (0..count)
        .map(|_| {
            x ^= x << 13;
            x ^= x >> 7;
            x ^= x << 17;
            (x >> 32) as u8
        })
        .collect()
}
