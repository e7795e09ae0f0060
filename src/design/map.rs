use crate::measures::counted;
use crate::reef::map::ReefMap;
use serde::ser::{Serialize, SerializeMap, Serializer};
use std::collections::BTreeMap;
use std::sync::Arc;

/// The map that is a zone's reef, and how it was written down. In JSON: what it shows, not its pixels or colonies.
#[derive(Clone, Debug, PartialEq)]
pub struct ZoneMap {
    /// Where it stands, relative to the scenario.
    pub file: String,
    pub scale: MapScale,
    pub map: Arc<ReefMap>,
    /// File and map of a later time, of the same size and kind: what the second visit finds.
    pub later: Option<(String, Arc<ReefMap>)>,
}

/// From what stands in the file to metres and names.
#[derive(Clone, Debug, PartialEq)]
pub enum MapScale {
    /// Of a picture: the side of a pixel, and the names of colours ("#b84a2b").
    Picture { pixel_m: f64, legend: BTreeMap<String, String> },
    /// Of a list of places.
    List { metres_per_unit: f64 },
}

impl ZoneMap {
    /// "a mosaic of 4000 x 1500 pixels of 1 cm", "a map of 812 colonies".
    pub fn label(&self) -> String {
        match &*self.map {
            ReefMap::Mosaic(mosaic) => {
                let (columns, rows) = mosaic.pixels();
                let cm = (mosaic.pixel_m() * 1e6).round() / 1e4;
                format!("a mosaic of {columns} x {rows} pixels of {cm} cm")
            }
            ReefMap::Colonies(map) => {
                let of = |kind: &crate::reef::map::MapItems| counted(kind.places.len(), &kind.name.replace('_', " "));
                let colonies = (!map.discs.is_empty()).then(|| match map.discs.len() {
                    1 => "1 colony".to_owned(),
                    number => format!("{number} colonies"),
                });
                let all: Vec<String> = colonies.into_iter().chain(map.animals.iter().map(of)).collect();
                format!("a map of {}", all.join(" and "))
            }
        }
    }
}

impl Serialize for ZoneMap {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("file", &self.file)?;
        if let Some((file, later)) = &self.later {
            map.serialize_entry("file_after", file)?;
            map.serialize_entry("cover_after", &later.coral_cover())?;
        }
        match &*self.map {
            ReefMap::Mosaic(mosaic) => {
                let (columns, rows) = mosaic.pixels();
                map.serialize_entry("kind", "mosaic")?;
                map.serialize_entry("columns", &columns)?;
                map.serialize_entry("rows", &rows)?;
                map.serialize_entry("pixel_m", &mosaic.pixel_m())?;
            }
            ReefMap::Colonies(colonies) => {
                map.serialize_entry("kind", "colonies")?;
                map.serialize_entry("colonies", &colonies.discs.len())?;
                let animals: BTreeMap<&str, usize> =
                    colonies.animals.iter().map(|kind| (kind.name.as_str(), kind.places.len())).collect();
                map.serialize_entry("animals", &animals)?;
            }
        }
        map.end()
    }
}
