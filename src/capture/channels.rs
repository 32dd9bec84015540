//! Which columns the set-up's channels are, what their numbers are taken by, and what becomes of samples
//! beyond the range.
//! Numbers that name no source are our own choice.

use super::ReadError;
use super::axis::column_at;
use super::layout::Layout;
use super::reading::gather::{Keep, Span};
use super::setup::clamps::Clamp;
use super::setup::keys::Scaling;
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
    /// Taken off after that: what the clamp shows at no current.
    pub zero: f64,
    /// Positive end of the ± range, in the column's unit, where that is known.
    pub range: Option<f64>,
    /// What thinning keeps of it.
    pub keep: Keep,
}

impl Channel {
    /// One of its numbers in volts or amperes.
    #[must_use]
    pub fn of(&self, number: f64) -> f64 {
        self.factor.of(number) - self.zero
    }
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
        let factor = factor(layout, column, scaling, dimension, file)?;
        let range = range(analogue, scaling, factor);
        add(Channel {
            column,
            key: analogue.column.clone(),
            names: vec![name],
            factor,
            zero: scaling.listed.as_ref().map_or(0.0, Clamp::zero),
            range,
            keep: Keep::Nearest {
                end: range_end(range, analogue.bits),
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
            zero: 0.0,
            range: None,
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
        let by_clamp = scaling.clamped().is_some();
        let clamped = by_clamp && known == Some(Dimension::Voltage);
        known == Some(dimension) && !by_clamp || clamped
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

/// The range, in the column's unit: the scope's, or the clamp's where that ends first. A converter's steps
/// are shares of the scope's own range, so where its bits are given the clamp does not make it narrower.
fn range(analogue: &Analogue, scaling: &Scaling, factor: Factor) -> Option<f64> {
    let own = analogue.full_scale;
    let clamp = scaling.listed.as_ref().map(|clamp| clamp.range);
    match clamp.map(|ampere| ampere * factor.over / factor.times) {
        Some(clamp) if analogue.bits.is_none() => Some(own.map_or(clamp, |own| own.min(clamp))),
        _ => own,
    }
}

/// Size from which a sample is at the end of the range, in the column's unit.
fn range_end(range: Option<f64>, bits: Option<u32>) -> f64 {
    range.map_or(f64::INFINITY, |range| {
        let step = bits.map_or(0.0, |bits| 2.0 * range / 2f64.powi(bits as i32));
        range - 1.5 * step.max(END_SHARE * range)
    })
}

/// Scale a channel's values and put marks at the end of the range; the range, if it is told or marks tell
/// it. `span` is of the values before.
pub fn scale(values: &mut [f64], channel: &Channel, span: Span, told: Option<f64>) -> Option<f64> {
    let range = scale_about_zero(values, channel, span, told);
    if channel.zero == 0.0 {
        return range;
    }
    for value in values.iter_mut() {
        *value -= channel.zero;
    }
    // the end that the signal is nearer to
    let upwards = span.greatest.abs() >= span.least.abs();
    let towards = if upwards { -channel.zero } else { channel.zero };
    range.map(|range| range + towards)
}

fn scale_about_zero(
    values: &mut [f64],
    channel: &Channel,
    span: Span,
    told: Option<f64>,
) -> Option<f64> {
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
            zero: 0.0,
            range: None,
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

    /// A clamp of 10 mV/A that shows 20 mV at no current, turned over: -1.02 V are -104 A.
    #[test]
    fn what_a_clamp_shows_at_no_current_is_taken_off() {
        let given = [0.02, -1.02, f64::NEG_INFINITY];
        let clamp = Channel {
            zero: 2.0,
            ..channel(
                ANALOGUE,
                Factor {
                    times: 1000.0,
                    over: 10.0,
                },
            )
        };
        let mut values = given;
        let range = scale(&mut values, &clamp, Span::of(&given), Some(2.0));
        assert_eq!((range, values), (Some(202.0), [0.0, -104.0, -202.0]));
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
