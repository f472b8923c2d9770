//! Tables of which only a band is kept: for each new frame a run of old frames.

use std::ops::Range;

/// For each row the columns that are kept; later rows never start or end before earlier ones.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Band {
    rows: Vec<Range<usize>>,
    columns: usize,
}

impl Band {
    /// Every cell of a table.
    #[must_use]
    pub fn whole(rows: usize, columns: usize) -> Self {
        Self {
            rows: vec![0..columns; rows],
            columns,
        }
    }

    /// The band that holds at least `wanted` in each row, widened until neither end ever goes back. Empty runs are taken
    /// from their neighbours.
    #[must_use]
    pub fn around(wanted: &[Range<usize>], columns: usize) -> Self {
        let mut rows: Vec<Range<usize>> = wanted
            .iter()
            .map(|r| r.start.min(columns)..r.end.min(columns))
            .collect();
        let mut end = 0;
        for row in &mut rows {
            end = end.max(row.end);
            row.end = end;
        }
        let mut start = columns;
        for row in rows.iter_mut().rev() {
            if row.start < row.end {
                start = start.min(row.start);
            }
            row.start = start.min(row.end.saturating_sub(1));
        }
        // Rows before the first wanted cell look at its column.
        for row in &mut rows {
            row.end = row.end.max(row.start + 1).min(columns);
        }
        Self { rows, columns }
    }

    /// Rows.
    #[must_use]
    pub fn rows(&self) -> usize {
        self.rows.len()
    }

    /// Columns of the whole table.
    #[must_use]
    pub fn columns(&self) -> usize {
        self.columns
    }

    /// The columns kept of row `i`.
    #[must_use]
    pub fn row(&self, i: usize) -> Range<usize> {
        self.rows[i].clone()
    }

    /// Cells kept.
    #[must_use]
    pub fn cells(&self) -> usize {
        self.rows.iter().map(ExactSizeIterator::len).sum()
    }
}

/// Values in the cells of a band.
#[derive(Debug, Clone)]
pub struct Table<T> {
    band: Band,
    starts: Vec<usize>,
    data: Vec<T>,
}

impl<T: Copy> Table<T> {
    /// A table full of `value`.
    #[must_use]
    pub fn filled(band: &Band, value: T) -> Self {
        let mut starts = Vec::with_capacity(band.rows());
        let mut at = 0;
        for i in 0..band.rows() {
            starts.push(at);
            at += band.row(i).len();
        }
        Self {
            band: band.clone(),
            starts,
            data: vec![value; at],
        }
    }

    /// The cells that are kept.
    #[must_use]
    pub fn band(&self) -> &Band {
        &self.band
    }

    /// The kept values of row `i`; the first is in column `band().row(i).start`.
    #[must_use]
    pub fn row(&self, i: usize) -> &[T] {
        let start = self.starts[i];
        &self.data[start..start + self.band.row(i).len()]
    }

    /// The same, to be written.
    pub fn row_mut(&mut self, i: usize) -> &mut [T] {
        let (start, len) = (self.starts[i], self.band.row(i).len());
        &mut self.data[start..start + len]
    }

    /// The value at row `i`, column `j`; `None` outside the band.
    #[must_use]
    pub fn get(&self, i: usize, j: usize) -> Option<T> {
        let row = self.band.row(i);
        row.contains(&j)
            .then(|| self.data[self.starts[i] + j - row.start])
    }
}
