//! The built-in fonts: a sans for reading in two weights, a serif for heads. Their licences (SIL Open Font License 1.1)
//! stand beside them in `fonts/`.

use std::sync::LazyLock;
use typst::foundations::Bytes;
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;

/// The sans comes first: it has every character that the others have, and more.
static FILES: [&[u8]; 3] = [
    include_bytes!("../../fonts/SourceSans3_400Regular.ttf"),
    include_bytes!("../../fonts/SourceSans3_600SemiBold.ttf"),
    include_bytes!("../../fonts/SourceSerif4_600SemiBold.ttf"),
];

static FONTS: LazyLock<Vec<Font>> =
    LazyLock::new(|| FILES.iter().flat_map(|file| Font::iter(Bytes::new(*file))).collect());

static BOOK: LazyLock<LazyHash<FontBook>> =
    LazyLock::new(|| LazyHash::new(FontBook::from_fonts(FONTS.iter())));

/// All faces, in the order of [`book`].
pub(crate) fn all() -> &'static [Font] {
    &FONTS
}

/// What the typesetter may choose from.
pub(crate) fn book() -> &'static LazyHash<FontBook> {
    &BOOK
}

/// Whether a glyph exists for this character, in both weights; the serif falls back to the sans.
pub(crate) fn can_draw(c: char) -> bool {
    let mut sans = all().iter().take(2);
    sans.all(|font| font.info().coverage.contains(u32::from(c)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_three_faces_are_read_and_small() {
        assert_eq!(all().len(), 3);
        let bytes: usize = FILES.iter().map(|f| f.len()).sum();
        assert!(bytes < 1_500_000, "{bytes} bytes of fonts");
    }

    #[test]
    fn letters_of_three_scripts_and_the_signs_we_use_can_be_drawn() {
        let missing: String = "aßøłčșğΩмї½¾¼⅓≥≤−–→•·°×□".chars().filter(|c| !can_draw(*c)).collect();
        assert_eq!(missing, "");
        assert!(!can_draw('ע') && !can_draw('水'));
    }
}
