use super::map::{MappedReef, MappedSite};
use super::{CoralReef, SamePlace, SiteReef, Visit, Walk};
use crate::random::Key;

/// What the sites of a zone are: virtual ones by a law, or one reef as it was mapped.
pub enum ZoneReef {
    Virtual(CoralReef),
    Mapped(MappedReef),
}

/// One site in one trial.
pub enum ZoneSite<'a> {
    Virtual(Box<SiteReef<'a>>),
    Mapped(MappedSite<'a>),
}

impl ZoneReef {
    /// The site of a key; of a mapped reef there is only one, in which the key names what is chance in reading it.
    pub fn site(&self, key: Key) -> ZoneSite<'_> {
        self.site_at(key, None)
    }

    /// The same at the place of a site of another zone.
    pub fn site_at(&self, key: Key, place: Option<SamePlace>) -> ZoneSite<'_> {
        match self {
            ZoneReef::Virtual(reef) => ZoneSite::Virtual(Box::new(SiteReef::at_place(reef, key, place))),
            ZoneReef::Mapped(reef) => ZoneSite::Mapped(reef.site(key)),
        }
    }

    /// The corals of virtual sites.
    pub fn coral(&self) -> Option<&CoralReef> {
        match self {
            ZoneReef::Virtual(reef) => Some(reef),
            ZoneReef::Mapped(_) => None,
        }
    }

    pub fn mapped(&self) -> Option<&MappedReef> {
        match self {
            ZoneReef::Virtual(_) => None,
            ZoneReef::Mapped(reef) => Some(reef),
        }
    }
}

impl ZoneSite<'_> {
    /// Fills the walk's colonies with those whose disc comes within `side` metres of a line (start and direction, m and unit
    /// vector) and that live in at least one state of the visit. A mosaic has no colonies.
    pub fn walk(
        &mut self,
        walk: &mut Walk,
        (start, direction): ((f64, f64), (f64, f64)),
        length: f64,
        side: f32,
        visit: Visit,
    ) {
        match self {
            ZoneSite::Virtual(site) => {
                let line = site.frame_line(start, direction, length);
                walk.read(site, &line, side, visit);
            }
            ZoneSite::Mapped(site) => site.list((start, direction), length, side, visit, &mut walk.colonies),
        }
    }
}
