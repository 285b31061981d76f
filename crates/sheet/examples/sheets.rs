//! Writes the invented samples as PDF, in both papers and prints, into the folder named on the command line.

#[path = "../tests/common/sample.rs"]
mod sample;

use sheet::{Paper, pdf};
use std::error::Error;
use std::path::PathBuf;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = PathBuf::from(std::env::args_os().nth(1).ok_or("name the folder to write to")?);
    std::fs::create_dir_all(&folder)?;
    let sheets = [("hillside", sample::hillside()), ("nothing-to-do", sample::nothing_to_do())];
    for (name, sheet) in &sheets {
        for (paper, paper_name) in [(Paper::A4, "a4"), (Paper::Letter, "letter")] {
            for (large, print) in [(false, "normal"), (true, "large")] {
                let file = folder.join(format!("{name}-{paper_name}-{print}.pdf"));
                std::fs::write(&file, pdf(sheet, paper, large)?)?;
                println!("{}", file.display());
            }
        }
    }
    Ok(())
}
