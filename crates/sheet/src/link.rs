//! The private link, as a QR code.
//!
//! In: the address. Out: the dark modules of its code (ISO/IEC 18004, correction level M), as horizontal runs to be
//! drawn as vectors.

use crate::SheetError;
use qrcode::{Color, EcLevel, QrCode};

/// The longest address taken; a longer one makes a code too fine for a phone to read from paper.
const LONGEST: usize = 300;

/// A QR code as runs of dark modules.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Code {
    /// Modules on a side, without the quiet zone.
    pub(crate) side: usize,
    /// Column, row and length of each run.
    pub(crate) runs: Vec<(usize, usize, usize)>,
}

/// The code of a web address.
///
/// # Errors
/// [`SheetError::Link`] for anything that is not a printable `http` or `https` address of bearable length.
pub(crate) fn code(address: &str) -> Result<Code, SheetError> {
    let wrong = || SheetError::Link { value: address.to_owned(), most: LONGEST };
    let rest = address.strip_prefix("https://").or_else(|| address.strip_prefix("http://"));
    let plain = address.chars().all(|c| c.is_ascii_graphic());
    if !plain || address.len() > LONGEST || rest.is_none_or(str::is_empty) {
        return Err(wrong());
    }
    let code = QrCode::with_error_correction_level(address, EcLevel::M).map_err(|_| wrong())?;
    let side = code.width();
    let dark: Vec<bool> = code.to_colors().into_iter().map(|c| c == Color::Dark).collect();
    let runs = dark.chunks(side).enumerate().flat_map(|(row, modules)| runs_of(row, modules)).collect();
    Ok(Code { side, runs })
}

/// The dark runs of one row.
fn runs_of(row: usize, modules: &[bool]) -> Vec<(usize, usize, usize)> {
    let mut runs: Vec<(usize, usize, usize)> = Vec::new();
    for (column, _) in modules.iter().enumerate().filter(|(_, dark)| **dark) {
        match runs.last_mut() {
            Some((start, _, length)) if *start + *length == column => *length += 1,
            _ => runs.push((column, row, 1)),
        }
    }
    runs
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn runs_cover_the_dark_modules_and_no_others() {
        let runs = runs_of(3, &[true, true, false, false, true, false, true, true, true]);
        assert_eq!(runs, [(0, 3, 2), (4, 3, 1), (6, 3, 3)]);
    }

    #[test]
    fn only_web_addresses_are_taken() {
        let long = format!("https://tub.example/{}", "a".repeat(300));
        for bad in [
            "",
            "https://",
            "javascript:alert(1)",
            "tub.example/a",
            "https://tub.example/a b",
            "https://ö.example",
            &long,
        ] {
            assert!(matches!(code(bad), Err(SheetError::Link { .. })), "{bad}");
        }
        assert_eq!(code("https://tub.example/s/abc").unwrap().side, 25);
    }
}
