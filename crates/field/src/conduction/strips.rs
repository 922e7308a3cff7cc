//! Where the cells of a body lie in memory: strips along x, sheets of strips, two colours of sheets.
//!
//! The columns of a row y alternate in colour like a chessboard, and each colour has an array of its own, so that the
//! columns of one colour can be relaxed at once, each along its whole height, while the other colour is only read. A
//! column with `x + y` even is of colour 0. Within a row the columns of one colour make a sheet: for each z from the
//! bottom up a strip of every second cell along x. Place `j` of a strip is the cell `x = 2 j + half` with
//! `half = (y + colour) mod 2`. A strip reaches from the first to the last cell that exists at its y and z; cells
//! in between that do not exist keep their place and are coupled to nothing.

/// A strip: cells of one colour at one y and z.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Strip {
    /// Place of its first cell in the array of its colour.
    pub start: usize,
    /// Place `j` of its first cell along x.
    pub first: usize,
    /// Cells.
    pub count: usize,
}

/// The strips of a body or of a coarser picture of it.
#[derive(Debug, Clone, Default)]
pub(super) struct Strips {
    /// Columns along x, y and cells along z.
    pub cells: [usize; 3],
    /// By colour, then y, then z.
    strips: Vec<Strip>,
    /// Start of every row in the array of a colour, one more than rows.
    rows: [Vec<usize>; 2],
}

/// Part of a strip beside a part of another one: first place in either and the number of places.
#[derive(Debug, Clone, Copy)]
pub(super) struct Beside {
    pub own: usize,
    pub other: usize,
    pub count: usize,
}

impl Strips {
    /// Strips from the span `first..end` of existing cells along x at each y and z (y first).
    pub fn new(cells: [usize; 3], span: impl Fn(usize, usize) -> [usize; 2]) -> Strips {
        let [_, ny, nz] = cells;
        let mut strips = Vec::with_capacity(2 * ny * nz);
        let mut rows = [Vec::with_capacity(ny + 1), Vec::with_capacity(ny + 1)];
        let spans: Vec<[usize; 2]> = (0..ny * nz).map(|i| span(i / nz, i % nz)).collect();
        for (colour, starts) in rows.iter_mut().enumerate() {
            let mut start = 0;
            for y in 0..ny {
                starts.push(start);
                let half = (y + colour) & 1;
                for z in 0..nz {
                    let [from, end] = spans[y * nz + z];
                    // x = 2 j + half in from..end.
                    let first = (from + 1 - half) / 2;
                    let past = (end + 1 - half) / 2;
                    let count = past.saturating_sub(first);
                    strips.push(Strip { start, first, count });
                    start += count;
                }
            }
            starts.push(start);
        }
        Strips { cells, strips, rows }
    }

    #[inline(always)]
    pub fn half(colour: usize, y: usize) -> usize {
        (y + colour) & 1
    }

    #[inline(always)]
    pub fn get(&self, colour: usize, y: usize, z: usize) -> Strip {
        let [_, ny, nz] = self.cells;
        self.strips[(colour * ny + y) * nz + z]
    }

    /// Start of the sheet of a row, `y` up to and with the number of rows.
    #[inline(always)]
    pub fn row(&self, colour: usize, y: usize) -> usize {
        self.rows[colour][y]
    }

    /// Cells of a colour.
    pub fn len(&self, colour: usize) -> usize {
        *self.rows[colour].last().unwrap_or(&0)
    }

    /// Cells of both colours.
    pub fn total(&self) -> usize {
        self.len(0) + self.len(1)
    }

    /// Colour and place in the array of that colour of a cell inside a strip.
    pub fn place(&self, [x, y, z]: [usize; 3]) -> Option<(usize, usize)> {
        let [nx, ny, nz] = self.cells;
        if x >= nx || y >= ny || z >= nz {
            return None;
        }
        let colour = (x + y) & 1;
        let strip = self.get(colour, y, z);
        let j = x / 2;
        (j >= strip.first && j < strip.first + strip.count).then(|| (colour, strip.start + j - strip.first))
    }

    /// First existing cell along x at a y and z, and the one after the last.
    pub fn span(&self, y: usize, z: usize) -> [usize; 2] {
        let mut span = [usize::MAX, 0];
        for colour in 0..2 {
            let strip = self.get(colour, y, z);
            if strip.count > 0 {
                let half = Strips::half(colour, y);
                span[0] = span[0].min(2 * strip.first + half);
                span[1] = span[1].max(2 * (strip.first + strip.count - 1) + half + 1);
            }
        }
        if span[1] == 0 { [0, 0] } else { span }
    }

    /// All cells of a strip as `(x, place in the array)`.
    pub fn along(&self, colour: usize, y: usize, z: usize) -> impl Iterator<Item = (usize, usize)> + use<> {
        let strip = self.get(colour, y, z);
        let half = Strips::half(colour, y);
        (0..strip.count).map(move |i| (2 * (strip.first + i) + half, strip.start + i))
    }

    /// What of `own` has the place `j + shift` in `other`, counted from the starts of the strips.
    #[inline(always)]
    pub fn beside(own: Strip, other: Strip, shift: isize) -> Beside {
        let from = (own.first as isize).max(other.first as isize - shift);
        let end = ((own.first + own.count) as isize).min((other.first + other.count) as isize - shift);
        let count = (end - from).max(0) as usize;
        if count == 0 {
            return Beside { own: 0, other: 0, count: 0 };
        }
        Beside {
            own: (from - own.first as isize) as usize,
            other: (from + shift - other.first as isize) as usize,
            count,
        }
    }
}

/// Calls `work(row, sheet)` for every row with its part of an array of one colour, over the threads of the pool, and
/// adds up what it returns in an order that does not depend on the threads.
pub(super) fn rows<T: Send>(
    strips: &Strips,
    colour: usize,
    array: &mut [T],
    work: &(impl Fn(usize, &mut [T]) -> f64 + Sync),
) -> f64 {
    halves(strips, colour, 0, strips.cells[1], array, work)
}

/// Fewer cells than this are not worth a second thread.
const GRAIN: usize = 16_384;

fn halves<T: Send>(
    strips: &Strips,
    colour: usize,
    from: usize,
    end: usize,
    array: &mut [T],
    work: &(impl Fn(usize, &mut [T]) -> f64 + Sync),
) -> f64 {
    if end - from <= 1 || array.len() <= GRAIN {
        let mut sum = 0.0;
        let mut rest = array;
        for y in from..end {
            let (sheet, after) = rest.split_at_mut(strips.row(colour, y + 1) - strips.row(colour, y));
            sum += work(y, sheet);
            rest = after;
        }
        return sum;
    }
    let middle = from + (end - from) / 2;
    let (low, high) = array.split_at_mut(strips.row(colour, middle) - strips.row(colour, from));
    let (a, b) = rayon::join(
        || halves(strips, colour, from, middle, low, work),
        || halves(strips, colour, middle, end, high, work),
    );
    a + b
}

/// Adds up `work(row)` over all rows of a colour in an order that does not depend on the threads.
pub(super) fn over_rows(strips: &Strips, colour: usize, work: &(impl Fn(usize) -> f64 + Sync)) -> f64 {
    fn halves(
        strips: &Strips,
        colour: usize,
        [from, end]: [usize; 2],
        work: &(impl Fn(usize) -> f64 + Sync),
    ) -> f64 {
        if end - from <= 1 || strips.row(colour, end) - strips.row(colour, from) <= GRAIN {
            return (from..end).map(work).sum();
        }
        let middle = from + (end - from) / 2;
        let (a, b) = rayon::join(
            || halves(strips, colour, [from, middle], work),
            || halves(strips, colour, [middle, end], work),
        );
        a + b
    }
    halves(strips, colour, [0, strips.cells[1]], work)
}

/// The same over two arrays, each of a colour: `work(row, sheet of the first, sheet of the second)`.
pub(super) fn rows_of_two<T: Send, U: Send>(
    strips: &Strips,
    (one, first): (usize, &mut [T]),
    (two, second): (usize, &mut [U]),
    work: &(impl Fn(usize, &mut [T], &mut [U]) -> f64 + Sync),
) -> f64 {
    two_halves(strips, [one, two], [0, strips.cells[1]], first, second, work)
}

fn two_halves<T: Send, U: Send>(
    strips: &Strips,
    colours: [usize; 2],
    [from, end]: [usize; 2],
    first: &mut [T],
    second: &mut [U],
    work: &(impl Fn(usize, &mut [T], &mut [U]) -> f64 + Sync),
) -> f64 {
    let length = |i: usize, from: usize, to: usize| strips.row(colours[i], to) - strips.row(colours[i], from);
    if end - from <= 1 || first.len() <= GRAIN {
        let mut sum = 0.0;
        let (mut rest, mut other) = (first, second);
        for y in from..end {
            let (sheet, after) = rest.split_at_mut(length(0, y, y + 1));
            let (beside, behind) = other.split_at_mut(length(1, y, y + 1));
            sum += work(y, sheet, beside);
            (rest, other) = (after, behind);
        }
        return sum;
    }
    let middle = from + (end - from) / 2;
    let (low, high) = first.split_at_mut(length(0, from, middle));
    let (below, above) = second.split_at_mut(length(1, from, middle));
    let (a, b) = rayon::join(
        || two_halves(strips, colours, [from, middle], low, below, work),
        || two_halves(strips, colours, [middle, end], high, above, work),
    );
    a + b
}
