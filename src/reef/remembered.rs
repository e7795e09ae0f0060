/// What square cells of a site have, at the cells looked at last. Each cell has one place, which it shares with those a
/// block away: a small site fits in, and of a larger one only what is looked at is kept.
pub(super) struct Remembered<T>(Vec<Cell<T>>);

#[derive(Clone, Copy)]
struct Cell<T> {
    column: i32,
    row: i32,
    value: T,
}

/// Cells on a side of the block that is remembered, a power of two.
const SIDE: i32 = 32;

impl<T: Copy + Default> Remembered<T> {
    pub(super) fn none() -> Self {
        Self(vec![Cell { column: i32::MAX, row: i32::MAX, value: T::default() }; (SIDE * SIDE) as usize])
    }

    /// What a cell has: from memory, or made and kept.
    #[inline]
    pub(super) fn get(&mut self, column: i32, row: i32, make: impl FnOnce() -> T) -> T {
        let place = ((column & (SIDE - 1)) * SIDE + (row & (SIDE - 1))) as usize;
        let known = &mut self.0[place];
        if known.column != column || known.row != row {
            *known = Cell { column, row, value: make() };
        }
        known.value
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_that_share_a_place_do_not_share_a_value() {
        let mut cells = Remembered::none();
        let mut made = 0;
        for (column, row) in [(0, 0), (0, 0), (32, 0), (0, 0), (-1, -5), (31, 27), (-1, -5)] {
            let value = cells.get(column, row, || {
                made += 1;
                100 * column + row
            });
            assert_eq!(value, 100 * column + row);
        }
        assert_eq!(made, 6);
    }
}
