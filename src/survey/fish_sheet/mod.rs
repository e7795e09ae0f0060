//! What a diver writes of a fish: a length, in a class, as far as it was seen; and how wide the belt was in truth.

mod classes;
mod reader;
mod width;
mod written;

pub use classes::{FineClasses, LengthClasses};
pub use reader::LengthReader;
pub use width::WidthReader;
pub use written::{ClassValue, WrittenLength};
