//! Colonies near a line, column by column.

/// A colony near a line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Colony {
    /// Place along the line from its start and across it, m; the sign of `across` tells the side.
    pub along: f32,
    pub across: f32,
    pub radius: f32,
    /// Names the colony; further marks (rank, condition) are hashed from it. The same at both visits.
    pub id: u64,
    /// Bit s: alive in state s. At the first visit only bit 0 can be set, at the second only the others.
    pub alive: u16,
}

/// Colonies, column by column: what looks at all of them reads only what it needs, several at once.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Colonies {
    pub along: Vec<f32>,
    pub across: Vec<f32>,
    pub radii: Vec<f32>,
    pub ids: Vec<u64>,
    pub alive: Vec<u16>,
}

impl Colonies {
    pub fn len(&self) -> usize {
        self.ids.len()
    }

    pub fn is_empty(&self) -> bool {
        self.ids.is_empty()
    }

    pub fn clear(&mut self) {
        self.along.clear();
        self.across.clear();
        self.radii.clear();
        self.ids.clear();
        self.alive.clear();
    }

    #[inline]
    pub fn push(&mut self, colony: Colony) {
        self.along.push(colony.along);
        self.across.push(colony.across);
        self.radii.push(colony.radius);
        self.ids.push(colony.id);
        self.alive.push(colony.alive);
    }

    /// The colony at a place of the list.
    #[inline(always)]
    pub fn at(&self, at: usize) -> Colony {
        Colony {
            along: self.along[at],
            across: self.across[at],
            radius: self.radii[at],
            id: self.ids[at],
            alive: self.alive[at],
        }
    }

    pub fn iter(&self) -> impl Iterator<Item = Colony> {
        (0..self.len()).map(|at| self.at(at))
    }
}

impl FromIterator<Colony> for Colonies {
    fn from_iter<Many: IntoIterator<Item = Colony>>(colonies: Many) -> Self {
        let mut all = Self::default();
        colonies.into_iter().for_each(|colony| all.push(colony));
        all
    }
}
