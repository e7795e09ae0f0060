use super::MapProblem;
use crate::design::HARD_CORAL;
use crate::reef::map::{MOST_KINDS, Mosaic};
use std::collections::BTreeMap;
use std::io::Cursor;

/// Pixels of a picture.
const MOST_PIXELS: usize = 200_000_000;
/// Colours without a name that are counted.
const MOST_COLOURS: usize = 256;
/// Colours without a name that are told one by one.
const MOST_TOLD: usize = 4;

/// A colour without a name: how many pixels have it, and the first of them (column and row, from the top left).
struct Unnamed {
    colour: u32,
    pixels: usize,
    first: (usize, usize),
}

/// What a legend says.
struct Kinds {
    /// Colours with their kinds: 0 is hard coral, 1 + k the k-th category.
    colours: Vec<(u32, u8)>,
    categories: Vec<String>,
}

/// Reads a PNG whose colours are named. The picture is seen from above: its left edge is x = 0, its lower edge y = 0.
pub fn read_picture(bytes: &[u8], pixel_m: f64, legend: &BTreeMap<String, String>) -> Result<Mosaic, MapProblem> {
    let Kinds { colours, categories } = kinds_of(legend)?;
    let cannot = |error: png::DecodingError| {
        let message = format!("the picture cannot be read: {error}");
        MapProblem::new("file", message, "no PNG", "Save it as PNG, 8 bits a colour, without a palette if in doubt.")
    };
    let mut decoder = png::Decoder::new(Cursor::new(bytes));
    decoder.set_transformations(png::Transformations::EXPAND | png::Transformations::STRIP_16);
    let mut reader = decoder.read_info().map_err(cannot)?;
    let (columns, rows) = (reader.info().width as usize, reader.info().height as usize);
    if columns * rows > MOST_PIXELS {
        let message = format!("the picture has {columns} x {rows} pixels");
        let allowed = format!("at most {} million", MOST_PIXELS / 1_000_000);
        return Err(MapProblem::new("file", message, allowed, "Make the pixels larger: 1 cm is fine enough."));
    }
    let samples = reader.output_color_type().0.samples();
    let Some(size) = reader.output_buffer_size() else {
        return Err(MapProblem::new("file", "the picture is too large", "too large", "Make the pixels larger."));
    };
    let mut buffer = vec![0; size];
    let frame = reader.next_frame(&mut buffer).map_err(cannot)?;
    let mut pixels = vec![0u8; columns * rows];
    let mut unnamed: BTreeMap<u32, Unnamed> = BTreeMap::new();
    // Neighbours mostly have one colour.
    let mut last = None;
    for (row, line) in buffer.chunks(frame.line_size).take(rows).enumerate() {
        let own = &mut pixels[(rows - 1 - row) * columns..][..columns];
        for (column, (pixel, sample)) in own.iter_mut().zip(line.chunks(samples)).enumerate() {
            let colour = colour_of(sample);
            let kind = match last {
                Some((known, kind)) if known == colour => Some(kind),
                _ => colours.iter().find(|(known, _)| *known == colour).map(|(_, kind)| *kind),
            };
            match kind {
                Some(kind) => (*pixel, last) = (kind, Some((colour, kind))),
                // A photograph has thousands.
                None if unnamed.len() == MOST_COLOURS => return Err(too_many_colours()),
                None => {
                    let first = (column + 1, row + 1);
                    unnamed.entry(colour).or_insert(Unnamed { colour, pixels: 0, first }).pixels += 1;
                }
            }
        }
    }
    if !unnamed.is_empty() {
        return Err(without_name(unnamed.into_values().collect()));
    }
    Ok(Mosaic::new(columns, pixel_m, categories, pixels))
}

fn kinds_of(legend: &BTreeMap<String, String>) -> Result<Kinds, MapProblem> {
    let mut categories: Vec<String> = Vec::new();
    let mut colours = Vec::new();
    for (colour, name) in legend {
        let Some(value) = parse_colour(colour) else {
            let message = format!("\"{colour}\" is no colour");
            let remedy = "Write red, green and blue as in a picture editor: \"#b84a2b\" = \"hard_coral\".";
            return Err(MapProblem::new("legend", message, "# and six digits 0-9, a-f", remedy));
        };
        if colours.iter().any(|(known, _)| *known == value) {
            let message = format!("the colour {colour} is named twice");
            return Err(MapProblem::new("legend", message, "once", "Take one of the two out."));
        }
        if name.trim().is_empty() {
            let message = format!("the colour {colour} has no name");
            return Err(MapProblem::new(
                "legend",
                message,
                "a name",
                "Write \"hard_coral\", or a name such as \"sand\".",
            ));
        }
        let kind = if name == HARD_CORAL {
            0
        } else {
            let known = categories.iter().position(|category| category == name);
            let place = known.unwrap_or(categories.len());
            if known.is_none() {
                categories.push(name.clone());
            }
            1 + place
        };
        colours.push((value, kind as u8));
    }
    if colours.is_empty() {
        let remedy = "Add [zone.map.legend] with a line for each colour of the picture: \"#b84a2b\" = \"hard_coral\".";
        return Err(MapProblem::new("legend", "what the colours of the picture mean is not told", "needed", remedy));
    }
    if categories.len() >= MOST_KINDS {
        let message = format!("{} kinds of bottom are named", categories.len() + 1);
        let remedy = "Put kinds together: several colours may have one name.";
        return Err(MapProblem::new("legend", message, format!("at most {MOST_KINDS}"), remedy));
    }
    Ok(Kinds { colours, categories })
}

fn parse_colour(text: &str) -> Option<u32> {
    let digits = text.strip_prefix('#').filter(|digits| digits.len() == 6)?;
    // Above the colour stands how opaque it is.
    u32::from_str_radix(digits, 16).ok().filter(|_| !digits.starts_with('+')).map(|colour| 0xFF00_0000 | colour)
}

fn colour_of(sample: &[u8]) -> u32 {
    let of = |red: u8, green: u8, blue: u8, alpha: u8| u32::from_be_bytes([alpha, red, green, blue]);
    match *sample {
        [grey] => of(grey, grey, grey, 255),
        [grey, alpha] => of(grey, grey, grey, alpha),
        [red, green, blue] => of(red, green, blue, 255),
        [red, green, blue, alpha] => of(red, green, blue, alpha),
        _ => 0,
    }
}

fn too_many_colours() -> MapProblem {
    let message = format!("more than {MOST_COLOURS} colours of the picture have no name");
    let remedy =
        "The picture must show classes, each in one colour, and be saved without smoothing; a photograph is none.";
    MapProblem::new("legend", message, "every colour of the picture", remedy)
}

fn without_name(mut unnamed: Vec<Unnamed>) -> MapProblem {
    unnamed.sort_by(|one, other| other.pixels.cmp(&one.pixels).then(one.colour.cmp(&other.colour)));
    let told: Vec<String> = unnamed
        .iter()
        .take(MOST_TOLD)
        .map(|one| {
            let transparent = if one.colour >> 24 == 255 { "" } else { ", not opaque" };
            let (column, row) = one.first;
            format!(
                "#{:06x}{transparent} ({} pixels, the first in column {column}, row {row} from the top left)",
                one.colour & 0xFF_FFFF,
                one.pixels
            )
        })
        .collect();
    let more = unnamed.len().saturating_sub(MOST_TOLD);
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    let message = format!("colours of the picture have no name: {}{more}", told.join("; "));
    let remedy = "Name each in the legend; where a picture editor has smoothed or blended edges, save the classes \
                  without that.";
    MapProblem::new("legend", message, "every colour of the picture", remedy)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A picture of so many columns, of colours row by row from the top.
    pub fn png(columns: usize, colours: &[u32]) -> Vec<u8> {
        let mut bytes = Vec::new();
        let mut encoder = png::Encoder::new(&mut bytes, columns as u32, (colours.len() / columns) as u32);
        encoder.set_color(png::ColorType::Rgb);
        encoder.set_depth(png::BitDepth::Eight);
        let data: Vec<u8> = colours.iter().flat_map(|colour| colour.to_be_bytes()[1..].to_vec()).collect();
        encoder.write_header().unwrap().write_image_data(&data).unwrap();
        bytes
    }

    fn legend(pairs: &[(&str, &str)]) -> BTreeMap<String, String> {
        pairs.iter().map(|(colour, name)| ((*colour).to_owned(), (*name).to_owned())).collect()
    }

    #[test]
    fn the_lower_edge_of_the_picture_is_the_origin() {
        let legend = legend(&[("#ff0000", "hard_coral"), ("#00ff00", "sand"), ("#0000FF", "sand")]);
        let bytes = png(2, &[0xFF0000, 0x00FF00, 0x0000FF, 0x00FF00]);
        let mosaic = read_picture(&bytes, 0.5, &legend).unwrap();
        assert_eq!((mosaic.size_m(), mosaic.categories()), ((1.0, 1.0), &["sand".to_owned()][..]));
        let kinds = [(0.1, 0.9), (0.9, 0.9), (0.1, 0.1), (0.9, 0.1)].map(|(x, y)| mosaic.kind_at(x, y));
        assert_eq!(kinds, [0, 1, 1, 1]);
    }

    #[test]
    fn nothing_is_guessed() {
        let bytes = png(2, &[0xFF0000, 0x00FF01, 0x00FF01, 0x0000FF]);
        let refused = |pairs: &[(&str, &str)]| read_picture(&bytes, 0.5, &legend(pairs)).unwrap_err();
        let problem = refused(&[("#ff0000", "hard_coral")]);
        assert!(
            problem.message.contains("#00ff01 (2 pixels, the first in column 2, row 1 from the top left); #0000ff (1"),
            "{}",
            problem.message
        );
        let photograph = png(32, &(0..1024).collect::<Vec<u32>>());
        let many = read_picture(&photograph, 0.5, &legend(&[("#ff0000", "sand")])).unwrap_err();
        assert!(many.message.contains("more than 256 colours"));
        assert!(refused(&[("red", "sand")]).message.contains("no colour"));
        assert!(refused(&[("#ff000", "sand")]).message.contains("no colour"));
        assert!(refused(&[("#aa00ff", "sand"), ("#AA00FF", "turf")]).message.contains("twice"));
        assert!(refused(&[("#aa00ff", " ")]).message.contains("no name"));
        assert!(refused(&[]).message.contains("not told"));
        assert_eq!(read_picture(b"GIF", 0.5, &legend(&[("#ff0000", "sand")])).unwrap_err().key, "file");
        assert_eq!(read_picture(&bytes[..60], 0.5, &legend(&[("#ff0000", "sand")])).unwrap_err().key, "file");
    }
}
