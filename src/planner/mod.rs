mod animals;
mod answer;
/// The best use of an expedition.
pub mod expedition;
mod map_notes;
mod methods_text;
mod needed;
mod notes;
mod picture;
mod pictured;
mod rows;
mod sizes;
mod solve;
mod variation;
mod warn;
mod words;

pub use animals::{AnimalSearch, SURELY, SearchChance};
pub use answer::{Answer, MapCell, Needed, Note, ReefRange, Sensitivity, Warning};
pub use methods_text::methods_text;
pub use needed::{Correction, HowMany, MOST_UNITS, needed};
pub use notes::notes;
pub use picture::{UnitsDrawn, picture};
pub use pictured::{PictureAnimal, PictureAnimals, PictureColony, PictureSet, PictureUnit, ReefPicture};
pub use rows::rows;
pub use sizes::{ClassShare, ColonySizes, SizeClass, colony_sizes};
pub use solve::{Effort, solve};
pub use words::{plain, times};
