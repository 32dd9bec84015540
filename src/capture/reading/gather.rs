//! Rows gathered into columns, thinned where there are many more of them than cranking needs: a scope that
//! samples a hundred times faster than anything happens must not take a hundred times the memory. A short
//! capture stays as it is, row by row.
//!
//! Of the rows that become one, an analogue channel keeps the sample nearest to their mean: scatter goes,
//! and the steps of the converter stay. Samples at the end of the range are kept before all others. A
//! reference keeps what stands out most, a sensor with teeth the mean, from which edges are interpolated.

/// Rows that are kept as they are, then rows and spacing, seconds, to which more are thinned. 1000 rows a
/// second serve every engine; ten times as many are kept where memory allows. Common practice, no source.
const STAGES: [(usize, f64); 3] = [(1 << 17, 1e-4), (1 << 20, 2e-4), (1 << 22, 1e-3)];

/// Spacing to which teeth are thinned first: a tooth of a 60-2 wheel passes in 4 ms at 250 rpm.
const TEETH_SPACING_S: f64 = 5e-5;

/// What a column keeps of several rows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Keep {
    /// The sample nearest to the mean, or one beyond `end` in size.
    Nearest {
        /// Size from which a sample is at the end of the range.
        end: f64,
    },
    /// The mean.
    Mean,
    /// The sample farthest from the usual level.
    Farthest,
}

/// Least and greatest number of a column, and how many marks stand in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// Least number; infinite where there is none.
    pub least: f64,
    /// Greatest number.
    pub greatest: f64,
    /// Marks.
    pub marks: u64,
}

impl Default for Span {
    fn default() -> Self {
        Self {
            least: f64::INFINITY,
            greatest: f64::NEG_INFINITY,
            marks: 0,
        }
    }
}

impl Span {
    /// Of values.
    #[must_use]
    pub fn of(values: &[f64]) -> Self {
        let mut span = Self::default();
        for value in values {
            // comparisons, not `min`: nothing here is left to be ordered but numbers
            let finite = value.is_finite();
            if finite && *value < span.least {
                span.least = *value;
            }
            if finite && *value > span.greatest {
                span.greatest = *value;
            }
            span.marks += u64::from(!finite);
        }
        span
    }

    fn join(&mut self, other: Self) {
        self.least = self.least.min(other.least);
        self.greatest = self.greatest.max(other.greatest);
        self.marks += other.marks;
    }
}

/// More rows than are held, after all thinning that does no harm.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TooMany;

/// Rows being gathered.
#[derive(Debug)]
pub struct Gather {
    keeps: Vec<Keep>,
    usual: Vec<f64>,
    /// Seconds of one unit of time.
    unit_s: f64,
    stage: usize,
    every: usize,
    rows: u64,
    time: Vec<f64>,
    columns: Vec<Vec<f64>>,
    /// Rows that do not make a whole one yet.
    open_time: Vec<f64>,
    open: Vec<Vec<f64>>,
    spans: Vec<Span>,
}

/// Rows gathered.
#[derive(Debug)]
pub struct Gathered {
    /// Time, in the file's unit.
    pub time: Vec<f64>,
    /// Columns, each as long.
    pub columns: Vec<Vec<f64>>,
    /// Rows that the file has.
    pub rows: u64,
    /// How many of them became one.
    pub every: usize,
    /// What each column spans, before thinning.
    pub spans: Vec<Span>,
}

impl Gather {
    /// Nothing gathered yet. `unit_s` is how many seconds one unit of time is.
    #[must_use]
    pub fn new(keeps: Vec<Keep>, unit_s: f64) -> Self {
        let count = keeps.len();
        Self {
            usual: vec![0.0; count],
            keeps,
            unit_s,
            stage: 0,
            every: 1,
            rows: 0,
            time: Vec::new(),
            columns: vec![Vec::new(); count],
            open_time: Vec::new(),
            open: vec![Vec::new(); count],
            spans: vec![Span::default(); count],
        }
    }

    /// Rows so far.
    #[must_use]
    pub fn rows(&self) -> u64 {
        self.rows
    }

    /// Add rows.
    ///
    /// # Errors
    /// Where there are more than can be held.
    pub fn push(
        &mut self,
        time: &[f64],
        columns: &[&[f64]],
        spans: &[Span],
    ) -> Result<(), TooMany> {
        self.rows += time.len() as u64;
        for (span, more) in self.spans.iter_mut().zip(spans) {
            span.join(*more);
        }
        if self.every == 1 {
            self.time.extend_from_slice(time);
            for (column, more) in self.columns.iter_mut().zip(columns) {
                column.extend_from_slice(more);
            }
        } else {
            self.open_time.extend_from_slice(time);
            for (column, more) in self.open.iter_mut().zip(columns) {
                column.extend_from_slice(more);
            }
            self.close(false);
        }
        self.thin()
    }

    /// Make whole rows of the open ones; at the end, of what is left too.
    fn close(&mut self, last: bool) {
        let whole = if last {
            self.open_time.len()
        } else {
            self.open_time.len() / self.every * self.every
        };
        let time = self.open_time[..whole].chunks(self.every);
        self.time.extend(time.map(mean));
        for (at, open) in self.open.iter_mut().enumerate() {
            let (keep, usual) = (self.keeps[at], self.usual[at]);
            let kept = open[..whole].chunks(self.every);
            self.columns[at].extend(kept.map(|rows| one_of(rows, keep, usual)));
            open.drain(..whole);
        }
        self.open_time.drain(..whole);
    }

    fn thin(&mut self) -> Result<(), TooMany> {
        while self.time.len() > STAGES.get(self.stage).ok_or(TooMany)?.0 {
            let count = self.time.len();
            let spacing = (self.time[count - 1] - self.time[0]) / (count - 1) as f64 * self.unit_s;
            let teeth = self.stage == 0 && self.keeps.contains(&Keep::Mean);
            let wanted = if teeth {
                TEETH_SPACING_S
            } else {
                STAGES[self.stage].1
            };
            // a spacing of exactly the wanted one must not become half as many rows by rounding
            let times = (wanted / spacing * (1.0 + 1e-6)).floor();
            if times < 2.0 {
                self.stage += 1;
                continue;
            }
            self.join(times.min(count as f64) as usize);
        }
        Ok(())
    }

    /// Make one row of each `times` rows that are gathered.
    fn join(&mut self, times: usize) {
        if self.every == 1 {
            for (usual, column) in self.usual.iter_mut().zip(&self.columns) {
                *usual = usual_level(column);
            }
        }
        let whole = self.time.len() / times * times;
        // rows that are left over were thinned already if any were: they make a row of their own
        let fresh = self.every == 1;
        let taken: Vec<f64> = self.time[..whole].chunks(times).map(mean).collect();
        let left = self.time.split_off(whole);
        self.time = taken;
        if fresh {
            self.open_time = left;
        } else if !left.is_empty() {
            self.time.push(mean(&left));
        }
        for (at, column) in self.columns.iter_mut().enumerate() {
            let (keep, usual) = (self.keeps[at], self.usual[at]);
            let taken: Vec<f64> = column[..whole]
                .chunks(times)
                .map(|rows| one_of(rows, keep, usual))
                .collect();
            let left = column.split_off(whole);
            *column = taken;
            if fresh {
                self.open[at] = left;
            } else if !left.is_empty() {
                column.push(one_of(&left, keep, usual));
            }
        }
        self.every *= times;
    }

    /// Everything gathered.
    #[must_use]
    pub fn finish(mut self) -> Gathered {
        if !self.open_time.is_empty() {
            self.close(true);
        }
        Gathered {
            time: self.time,
            columns: self.columns,
            rows: self.rows,
            every: self.every,
            spans: self.spans,
        }
    }
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// Mean of the numbers.
fn usual_level(values: &[f64]) -> f64 {
    let (sum, count) = values
        .iter()
        .filter(|value| value.is_finite())
        .fold((0.0, 0u32), |(sum, count), value| (sum + value, count + 1));
    sum / f64::from(count.max(1))
}

/// What one row keeps of several.
fn one_of(rows: &[f64], keep: Keep, usual: f64) -> f64 {
    let mean = mean(rows);
    if !mean.is_finite() {
        // a mark stands among them
        let mark = rows.iter().find(|value| !value.is_finite());
        return mark.copied().unwrap_or(mean);
    }
    let farthest_from = |level: f64| {
        rows.iter().copied().fold(level, |far, value| {
            if (value - level).abs() > (far - level).abs() {
                value
            } else {
                far
            }
        })
    };
    match keep {
        Keep::Mean => mean,
        Keep::Farthest => farthest_from(usual),
        Keep::Nearest { end } => {
            let (mut near, mut size) = (rows[0], 0.0f64);
            for value in rows {
                if (value - mean).abs() < (near - mean).abs() {
                    near = *value;
                }
                size = size.max(value.abs());
            }
            if size >= end {
                farthest_from(0.0)
            } else {
                near
            }
        }
    }
}

#[cfg(test)]
mod tests;
