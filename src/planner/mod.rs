mod answer;
mod methods_text;
mod needed;
mod picture;
mod pictured;
mod rows;
mod solve;
mod variation;
mod warn;
mod words;

pub use answer::{Answer, MapCell, Needed, ReefRange, Sensitivity, Warning};
pub use methods_text::methods_text;
pub use needed::{Correction, HowMany, MOST_UNITS, needed};
pub use picture::{UnitsDrawn, picture};
pub use pictured::{PictureAnimal, PictureAnimals, PictureColony, PictureSet, PictureUnit, ReefPicture};
pub use rows::rows;
pub use solve::{Effort, solve};
pub use words::{plain, times};
