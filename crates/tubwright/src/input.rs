//! Reading files, never more than a cap: a file of 3 GB is refused at once, not read.

use crate::failure::Failure;
use std::fs::File;
use std::io::Read;
use std::path::Path;

/// A whole file of at most `most` bytes; `-` is stdin.
pub(crate) fn whole_file(path: &Path, most: u64) -> Result<Vec<u8>, String> {
    let shown = path.display();
    let unreadable = |e: std::io::Error| format!("{shown}: cannot be read: {e}");
    if path == Path::new("-") {
        let mut bytes = Vec::new();
        std::io::stdin()
            .take(most + 1)
            .read_to_end(&mut bytes)
            .map_err(|e| format!("stdin: cannot be read: {e}"))?;
        return if bytes.len() as u64 > most {
            Err(too_large(path, bytes.len() as u64, most))
        } else {
            Ok(bytes)
        };
    }
    let about = std::fs::metadata(path).map_err(unreadable)?;
    if about.is_dir() {
        return Err(format!("{shown}: is a folder; a file is accepted"));
    }
    if about.len() > most {
        return Err(too_large(path, about.len(), most));
    }
    let mut bytes = Vec::new();
    File::open(path).and_then(|f| f.take(most + 1).read_to_end(&mut bytes)).map_err(unreadable)?;
    if bytes.len() as u64 > most {
        return Err(too_large(path, bytes.len() as u64, most)); // a pipe tells its size only by being read
    }
    Ok(bytes)
}

fn too_large(path: &Path, bytes: u64, most: u64) -> String {
    format!("{}: has {} MiB or more; at most {} MiB are accepted", path.display(), bytes >> 20, most >> 20)
}

/// A file to read line by line, or stdin.
pub(crate) fn stream(path: Option<&Path>) -> Result<Box<dyn Read>, Failure> {
    match path {
        Some(path) if path != Path::new("-") => {
            let unreadable = |e| Failure::input(format!("{}: cannot be read: {e}", path.display()));
            if std::fs::metadata(path).map_err(unreadable)?.is_dir() {
                return Err(Failure::input(format!("{}: is a folder; a file is accepted", path.display())));
            }
            Ok(Box::new(File::open(path).map_err(unreadable)?))
        }
        _ => Ok(Box::new(std::io::stdin())),
    }
}
