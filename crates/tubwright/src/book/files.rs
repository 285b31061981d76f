//! Where an export goes, and the bar that says how far it is.

use crate::failure::Failure;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::fs::{File, OpenOptions};
use std::io::{self, BufWriter, ErrorKind, Write};
use std::path::{Path, PathBuf};

/// A new file, or stdout.
pub(super) enum Target {
    File { path: PathBuf, out: BufWriter<File> },
    Stdout(BufWriter<Box<dyn Write + Send>>),
}

impl Target {
    /// Opens it; an existing file is left alone.
    pub(super) fn open(to: &Path) -> Result<Target, Failure> {
        if to == Path::new("-") {
            return Ok(Target::Stdout(BufWriter::new(super::stdout())));
        }
        let shown = to.display();
        match OpenOptions::new().write(true).create_new(true).open(to) {
            Ok(file) => Ok(Target::File { path: to.to_owned(), out: BufWriter::new(file) }),
            Err(e) if e.kind() == ErrorKind::AlreadyExists => Err(Failure::input(format!(
                "{shown}: is there already; a name that is free is accepted (nothing was written)"
            ))),
            Err(e) => Err(Failure::input(format!("{shown}: cannot be written: {e}"))),
        }
    }

    /// All of it is on the disk.
    pub(super) fn keep(mut self) -> Result<(), Failure> {
        self.flush()?;
        if let Target::File { out, .. } = &self {
            out.get_ref().sync_all()?;
        }
        Ok(())
    }

    /// Half an export is none.
    pub(super) fn drop_it(self) {
        if let Target::File { path, out } = self {
            drop(out);
            let _it_may_be_gone = std::fs::remove_file(path);
        }
    }
}

impl Write for Target {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        match self {
            Target::File { out, .. } => out.write(bytes),
            Target::Stdout(out) => out.write(bytes),
        }
    }
    fn flush(&mut self) -> io::Result<()> {
        match self {
            Target::File { out, .. } => out.flush(),
            Target::Stdout(out) => out.flush(),
        }
    }
}

/// A progress bar on stderr, where somebody looks at it.
pub(super) struct Bar(ProgressBar);

impl Bar {
    pub(super) fn new(what: &'static str) -> Bar {
        // The library shows nothing where stderr is no terminal.
        let bar =
            ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr_with_hz(5)).with_message(what);
        if let Ok(style) = ProgressStyle::with_template("{msg} [{bar:30}] {pos} of {len}") {
            bar.set_style(style.progress_chars("=> "));
        }
        Bar(bar)
    }

    /// What hears how many of how many are done.
    pub(super) fn listener(&self) -> impl FnMut(i64, i64) + Send + 'static {
        let bar = self.0.clone();
        move |done, of| {
            bar.set_length(of.max(0).unsigned_abs());
            bar.set_position(done.max(0).unsigned_abs());
        }
    }

    pub(super) fn done(self) {
        self.0.finish_and_clear();
    }
}
