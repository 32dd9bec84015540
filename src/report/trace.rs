//! The part of a drawing that a picture shows, thinned to its width without losing a spike.

use crate::cranking::answer::Drawing;

/// Cycles that a close-up shows of engines with few cylinders.
const CLOSE_UP_CYCLES: usize = 2;

/// A stretch of a trace and what is marked on it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct View {
    /// Its start, seconds.
    pub start: f64,
    /// Its end, seconds.
    pub end: f64,
    /// Least value shown.
    pub least: f64,
    /// Greatest value shown.
    pub greatest: f64,
    /// Points, in order of time.
    pub points: Vec<(f64, f64)>,
    /// Firings in it: time and number of the cylinder or position.
    pub firings: Vec<(f64, usize)>,
    /// Reference events in it.
    pub references: Vec<f64>,
}

impl View {
    /// The whole drawing; none where it has no trace.
    pub(super) fn whole(drawing: &Drawing) -> Option<Self> {
        let points = sound(&drawing.trace);
        let (start, end) = (points.first()?.0, points.last()?.0);
        Self::of(drawing, &points, start, end)
    }

    /// One or two whole cycles from the middle of the window; the whole drawing where it has less than
    /// a cycle. Two cycles only where their firings number at most `labels`.
    pub(super) fn close_up(drawing: &Drawing, labels: usize) -> Option<Self> {
        let mut firings = drawing.firings.clone();
        firings.retain(|(time, _)| time.is_finite());
        let per_cycle = cycle_length(&firings);
        if per_cycle == 0 || firings.len() <= per_cycle {
            return Self::whole(drawing);
        }
        let most = (firings.len() - 1) / per_cycle;
        let wanted = if per_cycle * CLOSE_UP_CYCLES <= labels {
            CLOSE_UP_CYCLES
        } else {
            1
        };
        let cycles = wanted.min(most);
        let span = |first: usize| {
            let (from, to) = (firings[first].0, firings[first + cycles * per_cycle].0);
            let half_interval = (to - from) / (cycles * per_cycle) as f64 / 2.0;
            (from - half_interval, to - half_interval)
        };
        let detail = sound(&drawing.detail);
        let covered = |(start, end): (f64, f64)| match (detail.first(), detail.last()) {
            (Some(first), Some(last)) => first.0 <= start && end <= last.0,
            _ => false,
        };
        // whole cycles from the first cylinder of the order, then from any
        let starts = (0..=most - cycles)
            .map(|cycle| cycle * per_cycle)
            .chain(0..firings.len() - cycles * per_cycle);
        if let Some((start, end)) = starts.map(span).find(|span| covered(*span)) {
            return Self::of(drawing, &detail, start, end);
        }
        let (start, end) = span((most - cycles) / 2 * per_cycle);
        Self::of(drawing, &sound(&drawing.trace), start, end)
    }

    fn of(drawing: &Drawing, points: &[(f64, f64)], start: f64, end: f64) -> Option<Self> {
        let (start, end) = (start.max(points.first()?.0), end.min(points.last()?.0));
        if end <= start {
            return None;
        }
        let inside = clip(points, start, end);
        let values = || inside.iter().map(|point| point.1);
        let least = values().fold(f64::INFINITY, f64::min);
        let greatest = values().fold(f64::NEG_INFINITY, f64::max);
        let within = |time: f64| (start..=end).contains(&time);
        Some(Self {
            start,
            end,
            least,
            greatest,
            firings: drawing
                .firings
                .iter()
                .copied()
                .filter(|(time, _)| within(*time))
                .collect(),
            references: drawing
                .references
                .iter()
                .copied()
                .filter(|time| within(*time))
                .collect(),
            points: inside,
        })
    }

    /// Share of the width at which a time stands, 0 to 1.
    pub(super) fn across(&self, time: f64) -> f64 {
        (time - self.start) / (self.end - self.start)
    }

    /// Share of the height at which a value stands, 0 to 1; a flat trace lies in the middle.
    pub(super) fn up(&self, value: f64) -> f64 {
        if self.greatest > self.least {
            (value - self.least) / (self.greatest - self.least)
        } else {
            0.5
        }
    }

    /// Least and greatest value in each of `count` equal stretches of time, the line between two
    /// points included, so that no spike is lost and no gap appears.
    pub(super) fn columns(&self, count: usize) -> Vec<(f64, f64)> {
        let mut columns = vec![(f64::INFINITY, f64::NEG_INFINITY); count];
        let place = |time: f64| self.across(time) * count as f64;
        let index = |at: f64| (at.max(0.0) as usize).min(count.saturating_sub(1));
        for pair in self.points.windows(2) {
            let (from, to) = (place(pair[0].0), place(pair[1].0));
            for (at, column) in columns
                .iter_mut()
                .enumerate()
                .take(index(to) + 1)
                .skip(index(from))
            {
                for edge in [from.max(at as f64), to.min(at as f64 + 1.0)] {
                    let share = if to > from {
                        (edge - from) / (to - from)
                    } else {
                        0.0
                    };
                    let value = pair[0].1 + share.clamp(0.0, 1.0) * (pair[1].1 - pair[0].1);
                    *column = (column.0.min(value), column.1.max(value));
                }
                if to <= from {
                    *column = (column.0.min(pair[1].1), column.1.max(pair[1].1));
                }
            }
        }
        columns
    }
}

/// Points that can be drawn, in order of time.
fn sound(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut sound: Vec<(f64, f64)> = points
        .iter()
        .copied()
        .filter(|(time, value)| time.is_finite() && value.is_finite())
        .collect();
    sound.sort_by(|a, b| a.0.total_cmp(&b.0));
    sound
}

/// Firings from one of the first cylinder to its next.
fn cycle_length(firings: &[(f64, usize)]) -> usize {
    let Some((_, first)) = firings.first() else {
        return 0;
    };
    firings
        .iter()
        .skip(1)
        .position(|(_, number)| number == first)
        .map_or(0, |at| at + 1)
}

/// The points between two times, with the line's values at both.
fn clip(points: &[(f64, f64)], start: f64, end: f64) -> Vec<(f64, f64)> {
    let mut inside = Vec::new();
    for pair in points.windows(2) {
        let [(t0, v0), (t1, v1)] = [pair[0], pair[1]];
        let at = |time: f64| {
            let share = if t1 > t0 {
                (time - t0) / (t1 - t0)
            } else {
                0.0
            };
            (time, v0 + share * (v1 - v0))
        };
        if inside.is_empty() && t0 <= start && start <= t1 {
            inside.push(at(start));
        }
        if t0 > start && t0 <= end {
            inside.push((t0, v0));
        }
        if t0 < end && end < t1 {
            inside.push(at(end));
        }
    }
    if let Some(last) = points.last().filter(|last| last.0 > start && last.0 <= end) {
        inside.push(*last);
    }
    inside
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Flat at 10, with a spike of one point.
    fn flat_with_spike(at: usize) -> Drawing {
        Drawing {
            trace: (0..1000)
                .map(|i| (i as f64 * 0.01, if i == at { 30.0 } else { 10.0 }))
                .collect(),
            ..Drawing::default()
        }
    }

    #[test]
    fn no_spike_is_lost_in_few_columns() {
        for at in [0, 1, 499, 500, 501, 998, 999] {
            let view = View::whole(&flat_with_spike(at)).unwrap();
            let columns = view.columns(7);
            let tops = columns.iter().filter(|(_, top)| *top == 30.0).count();
            assert!(tops >= 1, "spike at {at} is gone: {columns:?}");
            assert!(columns.iter().all(|(bottom, _)| *bottom == 10.0));
        }
    }

    #[test]
    fn more_columns_than_points_leave_no_gap() {
        let drawing = Drawing {
            trace: vec![(0.0, 0.0), (1.0, 100.0)],
            ..Drawing::default()
        };
        let columns = View::whole(&drawing).unwrap().columns(10);
        for (at, (bottom, top)) in columns.into_iter().enumerate() {
            assert!((bottom - at as f64 * 10.0).abs() < 1e-9);
            assert!((top - (at as f64 + 1.0) * 10.0).abs() < 1e-9);
        }
    }

    #[test]
    fn a_close_up_is_whole_cycles_from_the_middle() {
        let drawing = Drawing {
            firings: (0..37)
                .map(|i| (f64::from(i) * 0.1, [1, 3, 4, 2][i as usize % 4]))
                .collect(),
            trace: (0..400)
                .map(|i| (f64::from(i) * 0.01, f64::from(i % 10)))
                .collect(),
            ..Drawing::default()
        };
        let numbers = |labels| {
            let view = View::close_up(&drawing, labels).unwrap();
            view.firings.iter().map(|f| f.1).collect::<Vec<_>>()
        };
        assert_eq!(numbers(16), [1, 3, 4, 2, 1, 3, 4, 2]);
        assert_eq!(numbers(4), [1, 3, 4, 2]);
        let view = View::close_up(&drawing, 4).unwrap();
        assert!((view.end - view.start - 0.4).abs() < 1e-9);
    }

    #[test]
    fn what_cannot_be_drawn_is_no_view() {
        assert_eq!(View::whole(&Drawing::default()), None);
        let drawing = Drawing {
            trace: vec![(0.0, f64::NAN), (1.0, 2.0), (f64::INFINITY, 3.0)],
            ..Drawing::default()
        };
        assert_eq!(View::whole(&drawing), None);
        assert_eq!(View::close_up(&drawing, 8), None);
    }
}
