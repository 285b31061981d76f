//! Reads PDFs back with programs that are not ours.

pub(crate) mod sample;

use sheet::{OwnerSheet, Paper};
use std::path::{Path, PathBuf};
use std::process::Command;

/// A PDF on disk, for the programs that read it.
pub(crate) struct Printed(PathBuf);

/// Makes the sheet and keeps it under `name` (unique in a test file) for inspection.
pub(crate) fn print(name: &str, sheet: &OwnerSheet, paper: Paper, large_print: bool) -> Printed {
    let bytes = sheet::pdf(sheet, paper, large_print).unwrap_or_else(|e| panic!("{name}: {e}"));
    let file = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("sheet-{name}.pdf"));
    std::fs::write(&file, bytes).expect("room for a PDF");
    Printed(file)
}

/// One word as printed: its text and where it stands, in points from the upper left.
#[derive(Debug, Clone)]
pub(crate) struct Word {
    #[expect(dead_code, reason = "printed where a check fails")]
    pub(crate) text: String,
    pub(crate) left: f64,
    pub(crate) top: f64,
    pub(crate) right: f64,
    pub(crate) bottom: f64,
}

impl Printed {
    /// Runs a reader on the file; the placeholder `FILE` among the arguments stands for it.
    fn read(&self, program: &str, arguments: &[&str]) -> String {
        let file = self.0.to_str().expect("a plain path");
        let arguments = arguments.iter().map(|a| if *a == "FILE" { file } else { a });
        let output = Command::new(program).args(arguments).output().unwrap_or_else(|e| {
            panic!("{program}: {e}; these tests need the Debian packages poppler-utils and zbar-tools")
        });
        // Older poppler takes the entry /Suspects false, which PDF/UA-1 wants, for a fault.
        let complaint = String::from_utf8_lossy(&output.stderr);
        let complaint = complaint.replace("Syntax Error: Suspects object is wrong type (boolean)\n", "");
        assert!(output.status.success() && complaint.is_empty(), "{program} {file}: {complaint}");
        String::from_utf8(output.stdout).expect("UTF-8")
    }

    /// The document's text, every run of white space as one space.
    pub(crate) fn text(&self) -> String {
        squeeze(&self.read("pdftotext", &["-raw", "FILE", "-"]))
    }

    /// The same for one page, counted from 1.
    pub(crate) fn text_of_page(&self, page: usize) -> String {
        let n = page.to_string();
        squeeze(&self.read("pdftotext", &["-raw", "-f", &n, "-l", &n, "FILE", "-"]))
    }

    /// A line of the document's description, such as `Pages`.
    pub(crate) fn info(&self, key: &str) -> String {
        let all = self.read("pdfinfo", &["FILE"]);
        let value = all.lines().find_map(|l| l.strip_prefix(key)?.strip_prefix(':'));
        value.unwrap_or_else(|| panic!("no {key} in {all}")).trim().to_owned()
    }

    pub(crate) fn pages(&self) -> usize {
        self.info("Pages").parse().expect("a number")
    }

    /// The document's metadata packet (XMP).
    pub(crate) fn metadata(&self) -> String {
        self.read("pdfinfo", &["-meta", "FILE"])
    }

    /// The tree that a screen reader follows, with its text.
    pub(crate) fn structure(&self) -> String {
        self.read("pdfinfo", &["-struct-text", "FILE"])
    }

    /// Whether the file has this in plain sight, as it has keys and short texts of its structure.
    pub(crate) fn has_bytes(&self, bytes: &str) -> bool {
        std::fs::read(&self.0).expect("the PDF").windows(bytes.len()).any(|w| w == bytes.as_bytes())
    }

    /// Sizes of all text, in points.
    pub(crate) fn font_sizes(&self) -> Vec<u32> {
        let xml = self.read("pdftohtml", &["-xml", "-stdout", "-i", "-zoom", "1", "FILE"]);
        xml.split("<fontspec ").skip(1).map(|f| attribute(f, "size").parse().expect("a number")).collect()
    }

    /// Every word of every page with its place: (page, word).
    pub(crate) fn words(&self) -> Vec<(usize, Word)> {
        let html = self.read("pdftotext", &["-bbox", "FILE", "-"]);
        let mut words = Vec::new();
        for (page, part) in html.split("<page ").skip(1).enumerate() {
            words.extend(part.split("<word ").skip(1).map(|w| (page + 1, word(w))));
        }
        words
    }

    /// What a reader of QR codes sees on the first page that has one, printed at 150 dots per inch.
    pub(crate) fn scanned(&self) -> String {
        let stem = self.0.with_extension("");
        let stem = stem.to_str().expect("a plain path");
        let last = self.pages().to_string();
        self.read("pdftoppm", &["-r", "150", "-png", "-singlefile", "-f", &last, "FILE", stem]);
        let picture = Printed(PathBuf::from(format!("{stem}.png")));
        picture
            .read("zbarimg", &["--quiet", "--nodbus", "--raw", "-Sdisable", "-Sqrcode.enable", "FILE"])
            .trim()
            .to_owned()
    }
}

/// Runs of white space as one space; invisible break marks and a hyphen at a line's end taken out.
pub(crate) fn squeeze(text: &str) -> String {
    text.replace(['\u{ad}', '\u{200b}'], "").split_whitespace().collect::<Vec<_>>().join(" ")
}

fn word(xml: &str) -> Word {
    let number = |name: &str| attribute(xml, name).parse().expect("a number");
    let text = xml.split_once('>').expect("a tag").1.split_once("</word>").expect("its end").0.to_owned();
    Word { text, left: number("xMin"), top: number("yMin"), right: number("xMax"), bottom: number("yMax") }
}

fn attribute<'a>(xml: &'a str, name: &str) -> &'a str {
    let start = xml.find(&format!("{name}=\"")).unwrap_or_else(|| panic!("no {name} in {xml:.80}"));
    xml[start + name.len() + 2..].split('"').next().expect("a value")
}
