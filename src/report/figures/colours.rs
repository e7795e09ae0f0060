use super::canvas::{Mark, Stroke};
use plotters::style::RGBColor;

pub const PAPER: RGBColor = RGBColor(255, 255, 255);
pub const INK: RGBColor = RGBColor(0x22, 0x2B, 0x30);
pub const QUIET: RGBColor = RGBColor(0x5B, 0x66, 0x6D);
pub const GRID: RGBColor = RGBColor(0xE4, 0xE8, 0xEA);

/// Colours that people with any colour vision tell apart: Okabe & Ito 2008, "Color Universal Design". Their yellow is
/// too pale for lines on paper and is left out.
const OKABE_ITO: [RGBColor; 7] = [
    RGBColor(0x00, 0x72, 0xB2),
    RGBColor(0xD5, 0x5E, 0x00),
    RGBColor(0x00, 0x9E, 0x73),
    RGBColor(0xCC, 0x79, 0xA7),
    RGBColor(0xE6, 0x9F, 0x00),
    RGBColor(0x56, 0xB4, 0xE9),
    RGBColor(0x00, 0x00, 0x00),
];
pub const BLUE: RGBColor = OKABE_ITO[0];
pub const VERMILION: RGBColor = OKABE_ITO[1];
pub const ORANGE: RGBColor = OKABE_ITO[4];

const DASHES: [&[f64]; 5] = [&[], &[8.0, 4.0], &[2.5, 2.5], &[10.0, 3.0, 2.5, 3.0], &[5.0, 2.5]];
const MARKS: [Mark; 5] = [Mark::Disc, Mark::Square, Mark::Triangle, Mark::Diamond, Mark::Ring];

/// How the how-manieth line of a figure looks: colour, dashes and mark, each enough by itself.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LineStyle {
    pub stroke: Stroke,
    pub mark: Mark,
}

impl LineStyle {
    pub fn of(index: usize) -> LineStyle {
        let stroke = Stroke { colour: OKABE_ITO[index % 7], width: 1.8, dashes: DASHES[index % 5] };
        LineStyle { stroke, mark: MARKS[index % 5] }
    }

    pub fn colour(&self) -> RGBColor {
        self.stroke.colour
    }
}

/// How the units of the how-manieth set look on the reef: vermilion is left out, it is too near to the corals.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UnitStyle {
    pub stroke: Stroke,
}

impl UnitStyle {
    pub fn of(index: usize) -> UnitStyle {
        const COLOURS: [usize; 6] = [6, 0, 3, 2, 5, 4];
        let colour = OKABE_ITO[COLOURS[index % COLOURS.len()]];
        UnitStyle { stroke: Stroke { colour, width: 1.9, dashes: DASHES[index % DASHES.len()] } }
    }
}

/// Fill and text of the how-manieth of nine causes side by side: Okabe & Ito with their yellow, pale enough as an area, and a
/// grey. A letter tells them apart too.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CauseStyle {
    pub fill: RGBColor,
    pub text: RGBColor,
}

pub fn cause_style(index: usize) -> CauseStyle {
    const GREY: RGBColor = RGBColor(0x9A, 0xA3, 0xA8);
    const DARK: RGBColor = RGBColor(0x4A, 0x54, 0x5A);
    const FILLS: [(RGBColor, bool); 9] = [
        (OKABE_ITO[0], true),
        (DARK, true),
        (OKABE_ITO[4], false),
        (GREY, false),
        (OKABE_ITO[5], false),
        (OKABE_ITO[1], true),
        (OKABE_ITO[2], true),
        (OKABE_ITO[3], false),
        (ANIMAL, false),
    ];
    let (fill, is_dark) = FILLS[index % FILLS.len()];
    CauseStyle { fill, text: if is_dark { PAPER } else { INK } }
}

/// Dark enough for text on white.
pub fn for_text(colour: RGBColor) -> RGBColor {
    let darker = |part: u8| (f64::from(part) * 0.72) as u8;
    RGBColor(darker(colour.0), darker(colour.1), darker(colour.2))
}

/// A single-hue scale, pale at 0 and dark at 1 (straight through sRGB between three steps of one blue).
pub fn sequential(share: f64) -> RGBColor {
    const STEPS: [(f64, f64, f64); 3] = [(241.0, 246.0, 250.0), (120.0, 173.0, 210.0), (8.0, 64.0, 112.0)];
    let share = if share.is_finite() { share.clamp(0.0, 1.0) } else { 0.0 };
    let step = if share < 0.5 { 0 } else { 1 };
    let along = 2.0 * share - step as f64;
    let (from, to) = (STEPS[step], STEPS[step + 1]);
    let between = |from: f64, to: f64| (from + along * (to - from)).round() as u8;
    RGBColor(between(from.0, to.0), between(from.1, to.1), between(from.2, to.2))
}

/// What is drawn over a colour of the bottom, so that kinds differ in grey.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Texture {
    Plain,
    Dots,
    Dashes,
    Slashes,
    Crosses,
}

/// How a kind of bottom looks, and what is in the names of kinds that look so.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BottomLook {
    pub colour: RGBColor,
    pub texture: Texture,
    pub words: &'static [&'static str],
}

const fn look(colour: RGBColor, texture: Texture, words: &'static [&'static str]) -> BottomLook {
    BottomLook { colour, texture, words }
}

/// Muted kinds of bottom under the corals; any two differ by lightness or by texture.
pub const BOTTOM: [BottomLook; 9] = [
    look(RGBColor(0xE3, 0xCB, 0x92), Texture::Dots, &["sand", "silt", "mud"]),
    look(RGBColor(0x8F, 0xB0, 0x82), Texture::Plain, &["macroalga", "fleshy", "seaweed"]),
    look(RGBColor(0xC3, 0xD3, 0xA6), Texture::Dashes, &["turf"]),
    look(RGBColor(0xE2, 0xB4, 0xBE), Texture::Crosses, &["coralline", "crust", "cca"]),
    look(RGBColor(0xAE, 0xAB, 0xA6), Texture::Slashes, &["rubble", "rock", "pavement"]),
    look(RGBColor(0xB4, 0xCB, 0xE0), Texture::Plain, &[]),
    look(RGBColor(0xBE, 0xA8, 0xCE), Texture::Dots, &["sponge", "soft"]),
    look(RGBColor(0xA5, 0x97, 0x80), Texture::Dashes, &[]),
    look(RGBColor(0xD8, 0xDA, 0xDC), Texture::Slashes, &[]),
];
/// What no category names.
pub const REST: BottomLook = look(RGBColor(0xF8, 0xF4, 0xEB), Texture::Plain, &[]);
/// Living coral, against all of them.
pub const CORAL: RGBColor = RGBColor(0xB8, 0x4A, 0x2B);
pub const RIM: RGBColor = RGBColor(0x7A, 0x2C, 0x17);
/// Living coral that lies under other coral.
pub const COVERED: RGBColor = RGBColor(0xE4, 0xA5, 0x8C);
pub const COVERED_RIM: RGBColor = RGBColor(0xB8, 0x6A, 0x4E);
/// Coral that was not there at the first visit, and its rim of ink; coral that was, and is gone.
pub const NEW_CORAL: RGBColor = OKABE_ITO[5];
pub const GONE: RGBColor = PAPER;
/// Fill of the how-manieth group of fish, inside a rim of ink: with five shapes in turn twenty groups differ.
pub fn fish_colour(group: usize) -> RGBColor {
    [OKABE_ITO[5], PAPER, ANIMAL, OKABE_ITO[3]][group % 4]
}

/// Animals: the yellow of Okabe & Ito, too pale for lines on paper but not for marks with a rim of ink.
pub const ANIMAL: RGBColor = RGBColor(0xF0, 0xE4, 0x42);
