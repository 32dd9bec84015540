//! Which columns the set-up's channels are, what their numbers are taken by, and what becomes of samples
//! beyond the range.

use super::ReadError;
use super::axis::column_at;
use super::gather::{Keep, Span};
use super::keys::Scaling;
use super::layout::Layout;
use super::setup::{Analogue, Setup};
use super::unit::{self, Dimension, Factor};

/// Share of the range that counts as its end, beside one and a half converter steps.
const END_SHARE: f64 = 1e-3;

/// A range that nobody told lies beyond the greatest number shown by this factor.
const BEYOND: f64 = 1.01;

/// A column that is taken.
#[derive(Debug, Clone, PartialEq)]
pub struct Channel {
    /// Which, from 0.
    pub column: usize,
    /// What the set-up calls the column.
    pub key: String,
    /// The channels that it is.
    pub names: Vec<&'static str>,
    /// From its numbers to volts or amperes.
    pub factor: Factor,
    /// What thinning keeps of it.
    pub keep: Keep,
}

/// The columns that a set-up's channels name, once each, in the order of the set-up.
///
/// # Errors
/// Where a column is missing or its unit does not fit.
pub fn resolve(layout: &Layout, setup: &Setup, file: &str) -> Result<Vec<Channel>, ReadError> {
    let channels = &setup.channels;
    let mut found: Vec<Channel> = Vec::new();
    let mut add = |channel: Channel| match found.iter_mut().find(|other| other.key == channel.key) {
        Some(other) => other.names.extend(channel.names),
        None => found.push(channel),
    };
    for (name, dimension, analogue) in [
        (
            "starter_current",
            Dimension::Current,
            &channels.starter_current,
        ),
        (
            "battery_voltage",
            Dimension::Voltage,
            &channels.battery_voltage,
        ),
    ] {
        let Some(analogue) = analogue else { continue };
        let column = column_at(file, layout, &analogue.column)?;
        let none = Scaling::default();
        let scaling = setup.keys.scaling.get(name).unwrap_or(&none);
        add(Channel {
            column,
            key: analogue.column.clone(),
            names: vec![name],
            factor: factor(layout, column, scaling, dimension, file)?,
            keep: Keep::Nearest {
                end: range_end(analogue),
            },
        });
    }
    let teeth = channels.crank_speed.as_ref().map(|teeth| &teeth.column);
    let reference = channels
        .reference
        .as_ref()
        .map(|reference| &reference.column);
    for (name, keep, column) in [
        ("crank_speed", Keep::Mean, teeth),
        ("reference", Keep::Farthest, reference),
    ] {
        let Some(key) = column else { continue };
        add(Channel {
            column: column_at(file, layout, key)?,
            key: key.clone(),
            names: vec![name],
            factor: Factor::ONE,
            keep,
        });
    }
    Ok(found)
}

fn factor(
    layout: &Layout,
    column: usize,
    scaling: &Scaling,
    dimension: Dimension,
    file: &str,
) -> Result<Factor, ReadError> {
    let heading = &layout.headings[column];
    // an ending such as _V may be part of a name: it scales, but it does not contradict
    let fits = |text: &str| {
        let known = unit::parse(text).map(|unit| unit.dimension);
        let clamped = scaling.millivolt_per_ampere.is_some() && known == Some(Dimension::Voltage);
        known == Some(dimension) && scaling.millivolt_per_ampere.is_none() || clamped
    };
    let stated = heading
        .unit
        .as_deref()
        .filter(|text| heading.stated || fits(text));
    scaling
        .factor(dimension, stated)
        .map_err(|(message, remedy)| {
            let message = format!("column {:?}: {message}", heading.text);
            let line = layout.unit_line.or(layout.header_line).unwrap_or(0);
            ReadError::new(file, line, column as u64 + 1, message, remedy)
        })
}

/// Size from which a sample is at the end of the range, in the column's unit.
fn range_end(analogue: &Analogue) -> f64 {
    analogue.full_scale.map_or(f64::INFINITY, |range| {
        let step = analogue
            .bits
            .map_or(0.0, |bits| 2.0 * range / 2f64.powi(bits as i32));
        range - 1.5 * step.max(END_SHARE * range)
    })
}

/// Scale a channel's values and put marks at the end of the range; the range, if it is told or marks tell
/// it. `span` is of the values before.
pub fn scale(values: &mut [f64], channel: &Channel, span: Span, told: Option<f64>) -> Option<f64> {
    if channel.factor != Factor::ONE {
        for value in values.iter_mut() {
            *value = channel.factor.of(*value);
        }
    }
    let told = told.map(|range| channel.factor.of(range));
    if span.marks == 0 {
        return told;
    }
    let (least, greatest) = if span.least <= span.greatest {
        (
            channel.factor.of(span.least),
            channel.factor.of(span.greatest),
        )
    } else {
        (0.0, 0.0)
    };
    let analogue = matches!(channel.keep, Keep::Nearest { .. });
    let size = match told {
        Some(range) => range,
        None if least == 0.0 && greatest == 0.0 => 1.0,
        None => BEYOND * least.abs().max(greatest.abs()),
    };
    let ends = if analogue {
        (-size, size)
    } else {
        (least, greatest)
    };
    replace_marks(values, ends, f64::midpoint(least, greatest));
    analogue.then_some(size)
}

/// A mark that does not say which end was left takes the one that the last number was nearer to.
fn replace_marks(values: &mut [f64], (low, high): (f64, f64), middle: f64) {
    let first = values.iter().copied().find(|value| value.is_finite());
    let mut last = first.unwrap_or(high);
    for value in values.iter_mut() {
        if value.is_finite() {
            last = *value;
        } else if value.is_nan() {
            *value = if last >= middle { high } else { low };
        } else {
            *value = if *value > 0.0 { high } else { low };
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn channel(keep: Keep, factor: Factor) -> Channel {
        Channel {
            column: 0,
            key: "u".into(),
            names: vec!["battery_voltage"],
            factor,
            keep,
        }
    }

    const ANALOGUE: Keep = Keep::Nearest { end: f64::INFINITY };

    #[test]
    fn marks_go_to_the_end_of_the_range() {
        let milli = Factor {
            times: 1.0,
            over: 1000.0,
        };
        let given = [
            500.0,
            f64::INFINITY,
            -400.0,
            f64::NAN,
            f64::NEG_INFINITY,
            300.0,
            f64::NAN,
        ];
        let mut values = given;
        let range = scale(
            &mut values,
            &channel(ANALOGUE, milli),
            Span::of(&given),
            Some(600.0),
        );
        assert_eq!(range, Some(0.6));
        assert_eq!(values, [0.5, 0.6, -0.4, -0.6, -0.6, 0.3, 0.6]);
        // without a range, beyond everything that was shown
        let mut values = given;
        let range = scale(
            &mut values,
            &channel(ANALOGUE, Factor::ONE),
            Span::of(&given),
            None,
        );
        assert_eq!((range, values[1], values[4]), (Some(505.0), 505.0, -505.0));
        // a sensor's level stays a level
        let mut values = given;
        assert_eq!(
            scale(
                &mut values,
                &channel(Keep::Mean, Factor::ONE),
                Span::of(&given),
                None
            ),
            None
        );
        assert_eq!((values[1], values[3]), (500.0, -400.0));
    }

    #[test]
    fn without_marks_only_the_scale_changes() {
        let mut values = [1.0, 2.0];
        let kilo = Factor {
            times: 1000.0,
            over: 1.0,
        };
        let span = Span::of(&values);
        assert_eq!(
            scale(&mut values, &channel(ANALOGUE, kilo), span, Some(3.0)),
            Some(3000.0)
        );
        assert_eq!(values, [1000.0, 2000.0]);
        let mut marks = [f64::NAN; 3];
        let span = Span::of(&marks);
        assert_eq!(
            scale(&mut marks, &channel(ANALOGUE, kilo), span, None),
            Some(1.0)
        );
        assert_eq!(marks, [1.0; 3]);
    }
}
