//! Bitmaps from the same vector figures, with the same typeface; no fonts of the system are looked at.

use super::fonts;
use resvg::{tiny_skia, usvg};

/// Pixels per unit of the figure: 640 units across an A4 page of 170 mm are 287 dots an inch.
const SCALE: f32 = 3.0;

/// Reads a figure as the renderer understands it.
pub fn parse(svg: &str) -> Result<usvg::Tree, String> {
    let mut options = usvg::Options { font_family: "Noto Sans".to_string(), ..usvg::Options::default() };
    options.fontdb_mut().load_font_data(fonts::REGULAR.to_vec());
    options.fontdb_mut().load_font_data(fonts::BOLD.to_vec());
    usvg::Tree::from_str(svg, &options).map_err(|error| error.to_string())
}

/// The figure as a PNG, or why it could not be drawn.
pub fn png(svg: &str) -> Result<Vec<u8>, String> {
    let tree = parse(svg)?;
    let size = tree.size();
    let (width, height) = ((size.width() * SCALE).ceil() as u32, (size.height() * SCALE).ceil() as u32);
    let mut pixels = tiny_skia::Pixmap::new(width, height).ok_or("the figure is too large for a bitmap")?;
    resvg::render(&tree, tiny_skia::Transform::from_scale(SCALE, SCALE), &mut pixels.as_mut());
    pixels.encode_png().map_err(|error| error.to_string())
}
