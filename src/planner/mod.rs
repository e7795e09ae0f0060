mod answer;

pub use answer::{Answer, MapCell, Needed, PictureUnit, ReefPicture, ReefRange, Sensitivity, Warning};
