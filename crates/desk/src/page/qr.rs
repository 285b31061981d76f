//! An address as a QR code (ISO/IEC 18004, correction level M), drawn as one path.

use maud::{Markup, html};
use qrcode::{Color, EcLevel, QrCode};

/// Modules of quiet zone that the standard asks for.
const QUIET: usize = 4;

/// The code; nothing if the text is too long for one.
pub(crate) fn draw(text: &str, label: &str) -> Markup {
    let Ok(code) = QrCode::with_error_correction_level(text, EcLevel::M) else { return html! {} };
    let width = code.width();
    let dark: Vec<bool> = code.to_colors().into_iter().map(|c| c == Color::Dark).collect();
    let modules = dark.iter().enumerate().filter(|(_, dark)| **dark);
    let path: String =
        modules.map(|(i, _)| format!("M{} {}h1v1h-1z", QUIET + i % width, QUIET + i / width)).collect();
    let side = width + 2 * QUIET;
    html! {
        svg.qr viewBox={ "0 0 " (side) " " (side) } role="img" aria-label=(label) {
            rect width=(side) height=(side) fill="#ffffff" {}
            path d=(path) fill="#000000" {}
        }
    }
}
