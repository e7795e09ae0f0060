use super::list::read_list;
use crate::scenario::fish_list::{FishList, read_fish};
use crate::scenario::load::ReadFile;
use crate::scenario::problems::Problems;
use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

/// The lists of fish that a scenario names, each read once; what is wrong with one is told where it is named first.
pub struct FishLists<'a> {
    files: &'a ReadFile<'a>,
    read: RefCell<BTreeMap<String, Option<Rc<FishList>>>>,
    told: RefCell<BTreeSet<String>>,
}

impl<'a> FishLists<'a> {
    pub fn new(files: &'a ReadFile<'a>) -> Self {
        Self { files, read: RefCell::default(), told: RefCell::default() }
    }

    /// The list of a name that stands at a key; `None` where it cannot be read or is wrong.
    pub fn get(&self, (name, key): (&str, &str), problems: &mut Problems) -> Option<Rc<FishList>> {
        let mut read = self.read.borrow_mut();
        let list = read.entry(name.to_owned());
        list.or_insert_with(|| read_list((name, key), read_fish, self.files, problems).map(Rc::new)).clone()
    }

    /// Whether something of a list as a whole is not told yet.
    pub fn is_told_first(&self, name: &str) -> bool {
        self.told.borrow_mut().insert(name.to_owned())
    }
}
