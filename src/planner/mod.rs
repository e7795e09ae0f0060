mod animals;
mod answer;
mod methods_text;
mod needed;
mod picture;
mod rows;
mod solve;
mod variation;
mod warn;
mod words;

pub use animals::{AnimalSearch, SURELY, SearchChance};
pub use answer::{Answer, MapCell, Needed, PictureUnit, ReefPicture, ReefRange, Sensitivity, Warning};
pub use methods_text::methods_text;
pub use needed::{Correction, HowMany, MOST_UNITS, needed};
pub use picture::picture;
pub use rows::rows;
pub use solve::{Effort, solve};
pub use words::{plain, times};
