mod animals;
mod answer;
mod colonies;
mod even_colonies;
/// The best use of an expedition.
pub mod expedition;
mod fish;
mod fish_headline;
mod fish_notes;
mod fish_words;
mod least_minutes;
mod life_words;
mod map_notes;
mod methods_text;
mod needed;
mod notes;
mod overlap;
mod picture;
mod picture_lines;
mod pictured;
mod recruit_notes;
mod rows;
mod sizes;
mod solve;
mod variation;
mod warn;
mod words;
mod written;

pub use animals::{AnimalSearch, SURELY, SearchChance};
pub use answer::{Answer, HeadlineOf, MapCell, Needed, Note, ReefRange, Sensitivity, Warning};
pub use colonies::{ColoniesOnBelt, colonies_on_belt};
pub use fish::{FishBias, parts as fish_bias_parts, quick_parts as quick_fish_bias_parts};
pub use methods_text::methods_text;
pub use needed::{Correction, HowMany, MOST_UNITS, needed};
pub use notes::notes;
pub use picture::{UnitsDrawn, picture, second_picture};
pub use picture_lines::on_their_lines;
pub use pictured::{
    Fate, PictureAnimal, PictureAnimals, PictureColony, PictureFish, PictureSet, PictureUnit, ReefPicture, SecondVisit,
};
pub use rows::rows;
pub use sizes::{ClassShare, ColonySizes, SizeClass, colony_sizes};
pub use solve::{Effort, solve};
pub use words::{plain, times};
