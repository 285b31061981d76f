//! A chart as pixels.

use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree};
use std::sync::Arc;

/// The sheet's own sans, in two weights (SIL Open Font License 1.1, beside them).
static FONTS: [&[u8]; 2] = [
    include_bytes!("../../sheet/fonts/SourceSans3_400Regular.ttf"),
    include_bytes!("../../sheet/fonts/SourceSans3_600SemiBold.ttf"),
];
/// Pixels to a side at most.
const MOST: u32 = 4096;

/// Why there is no picture.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PictureError {
    /// The drawing is none.
    #[error("this is no drawing that can be shown: {0}")]
    Svg(#[from] resvg::usvg::Error),
    /// Out of range.
    #[error("width is {0} pixels: 1 to {MOST} are accepted")]
    Width(u32),
    /// It could not be written.
    #[error("the picture could not be made: {0}")]
    Made(String),
}

/// A chart drawn for itself ([`crate::Look::File`]) as PNG, so many pixels wide.
///
/// # Errors
/// [`PictureError`] if `svg` is no drawing or the width is out of range.
pub fn png(svg: &str, width: u32) -> Result<Vec<u8>, PictureError> {
    if !(1..=MOST).contains(&width) {
        return Err(PictureError::Width(width));
    }
    let mut options = Options { font_family: "Source Sans 3".to_owned(), ..Options::default() };
    let fonts = Arc::make_mut(&mut options.fontdb);
    for file in FONTS {
        fonts.load_font_data(file.to_vec());
    }
    fonts.set_sans_serif_family("Source Sans 3");
    let tree = Tree::from_str(svg, &options)?;
    let scale = width as f32 / tree.size().width();
    let height = (tree.size().height() * scale).round().clamp(1.0, MOST as f32) as u32;
    let mut pixels = Pixmap::new(width, height)
        .ok_or_else(|| PictureError::Made(format!("{width} by {height} pixels")))?;
    resvg::render(&tree, Transform::from_scale(scale, scale), &mut pixels.as_mut());
    pixels.encode_png().map_err(|e| PictureError::Made(e.to_string()))
}
