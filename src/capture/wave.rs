//! Sound files (RIFF WAVE), as sound cards and handheld loggers write them: whole numbers of 8 to 32 bits
//! or 32-bit floats, one or more channels at an exact rate. A sound file knows no volts: the set-up's
//! `scale` says what full swing was.

use hound::{SampleFormat, WavReader};

use super::ReadError;
use super::account::understood::Understood;
use super::axis::Axis;
use super::channels::{self, Channel};
use super::file::bytes::Stream;
use super::layout::Layout;
use super::layout::heading::Heading;
use super::reading::gather::{Gather, Gathered, Keep, Span};
use super::recording::{Taken, Which};
use super::setup::Setup;
use super::setup::keys::{Decimal, Delimiter};
use super::unit::Factor;

/// Frames that are gathered at a time.
const FRAMES: usize = 1 << 14;

/// Read a sound file's channels, full swing being 1.
pub(super) fn taken(
    stream: Stream<'_>,
    packed: bool,
    file: &str,
    setup: Option<&Setup>,
    which: Which,
) -> Result<Taken, ReadError> {
    let mut reader = WavReader::new(stream).map_err(|error| unreadable(file, &error, packed))?;
    let spec = reader.spec();
    let layout = layout(usize::from(spec.channels));
    let rate_hz = f64::from(spec.sample_rate);
    if spec.channels == 0 || spec.sample_rate == 0 {
        let message = "the sound file has no channels or no rate";
        return Err(ReadError::new(file, 0, 0, message, "Record it again."));
    }
    let channels = wanted(&layout, setup, which, file)?;
    let gathered = gathered(&mut reader, &channels, file, packed)?;
    let kind = match spec.sample_format {
        SampleFormat::Float => "float",
        SampleFormat::Int => "whole numbers",
    };
    Ok(Taken {
        understood: Understood {
            form: "wave".to_owned(),
            remarks: vec![format!(
                "a sound file of {} channels, {} bits, {kind}; full swing is 1",
                spec.channels, spec.bits_per_sample
            )],
            ..Understood::default()
        },
        layout,
        axis: Axis::Rows { rate_hz },
        channels,
        gathered,
    })
}

/// All frames; full swing is 1, and what reaches it left the range.
fn gathered(
    reader: &mut WavReader<Stream<'_>>,
    channels: &[Channel],
    file: &str,
    packed: bool,
) -> Result<Gathered, ReadError> {
    let failed = |error: hound::Error| unreadable(file, &error, packed);
    let spec = reader.spec();
    let keeps = channels.iter().map(|channel| channel.keep).collect();
    let mut frames = Frames {
        file,
        channels,
        width: usize::from(spec.channels),
        gather: Gather::new(keeps, 1.0 / f64::from(spec.sample_rate)),
        open: vec![Vec::new(); channels.len()],
        frame: Vec::new(),
        is_nan: false,
    };
    match spec.sample_format {
        SampleFormat::Float => {
            for sample in reader.samples::<f32>() {
                frames.add(level(f64::from(sample.map_err(failed)?), 1.0))?;
            }
        }
        SampleFormat::Int => {
            let full = 2f64.powi(i32::from(spec.bits_per_sample) - 1);
            for sample in reader.samples::<i32>() {
                let code = f64::from(sample.map_err(failed)?);
                frames.add(level(code / full, 1.0 - 1.0 / full))?;
            }
        }
    }
    frames.finish()
}

/// The greatest and least codes are where the converter ends.
fn level(share: f64, greatest: f64) -> f64 {
    if share >= greatest {
        f64::INFINITY
    } else if share <= -1.0 {
        f64::NEG_INFINITY
    } else {
        share
    }
}

fn wanted(
    layout: &Layout,
    setup: Option<&Setup>,
    which: Which,
    file: &str,
) -> Result<Vec<Channel>, ReadError> {
    let mut channels = match setup {
        Some(setup) => {
            in_doubt(setup, file)?;
            channels::resolve(layout, setup, file)?
        }
        None => Vec::new(),
    };
    if which == Which::All {
        for (column, heading) in layout.headings.iter().enumerate() {
            if channels.iter().all(|channel| channel.column != column) {
                channels.push(Channel {
                    column,
                    key: heading.text.clone(),
                    names: Vec::new(),
                    factor: Factor::ONE,
                    zero: 0.0,
                    range: None,
                    keep: Keep::Nearest { end: f64::INFINITY },
                });
            }
        }
    }
    Ok(channels)
}

/// What only the set-up can say about a sound file, and what it cannot.
fn in_doubt(setup: &Setup, file: &str) -> Result<(), ReadError> {
    let channels = &setup.channels;
    for (name, analogue, unit) in [
        ("starter_current", &channels.starter_current, "A"),
        ("battery_voltage", &channels.battery_voltage, "V"),
    ] {
        let scaled = setup
            .keys
            .scaling
            .get(name)
            .is_some_and(|scaling| scaling.scale.is_some());
        if let Some(analogue) = analogue.as_ref().filter(|_| !scaled) {
            let message = format!(
                "{:?} of a sound file has no unit, and {name} needs {unit}",
                analogue.column
            );
            let remedy = format!(
                "Give what full swing was, in {unit}, as scale: in the set-up under {name}; measure a known \
                 level if the logger's data do not tell it."
            );
            return Err(ReadError::new(file, 0, 0, message, remedy));
        }
    }
    if setup.time_column.is_some() || setup.keys.rate_hz.is_some() || setup.keys.time_unit.is_some()
    {
        let message = "a sound file has its own rate and no time column";
        let remedy = "Leave time: out of the set-up.";
        return Err(ReadError::new(file, 0, 0, message, remedy));
    }
    Ok(())
}

fn layout(channels: usize) -> Layout {
    Layout {
        delimiter: Delimiter::Comma,
        decimal: Decimal::Point,
        headings: (1..=channels)
            .map(|number| Heading::of(&format!("channel {number}")))
            .collect(),
        header_line: None,
        unit_line: None,
        repeated: Vec::new(),
        first_line: 0,
        start: 0,
    }
}

struct Frames<'a> {
    file: &'a str,
    channels: &'a [Channel],
    width: usize,
    gather: Gather,
    open: Vec<Vec<f64>>,
    frame: Vec<f64>,
    is_nan: bool,
}

impl Frames<'_> {
    fn add(&mut self, sample: f64) -> Result<(), ReadError> {
        self.is_nan |= sample.is_nan();
        self.frame.push(sample);
        if self.frame.len() < self.width {
            return Ok(());
        }
        for (open, channel) in self.open.iter_mut().zip(self.channels) {
            open.push(self.frame[channel.column]);
        }
        self.frame.clear();
        if self.open.first().map_or(0, Vec::len) >= FRAMES {
            self.push()?;
        }
        Ok(())
    }

    fn push(&mut self) -> Result<(), ReadError> {
        if self.is_nan {
            let message = "the sound file holds values that are no numbers";
            return Err(ReadError::new(self.file, 0, 0, message, "Record it again."));
        }
        let count = self.open.first().map_or(0, Vec::len) as u64;
        let from = self.gather.rows();
        let time: Vec<f64> = (from..from + count).map(|row| row as f64).collect();
        let spans: Vec<Span> = self.open.iter().map(|values| Span::of(values)).collect();
        let columns: Vec<&[f64]> = self.open.iter().map(Vec::as_slice).collect();
        self.gather.push(&time, &columns, &spans).map_err(|_| {
            let message = "the sound file goes on for more than an hour";
            ReadError::new(self.file, 0, 0, message, "Cut it to the cranking.")
        })?;
        self.open.iter_mut().for_each(Vec::clear);
        Ok(())
    }

    fn finish(mut self) -> Result<Gathered, ReadError> {
        self.push()?;
        Ok(self.gather.finish())
    }
}

fn unreadable(file: &str, error: &hound::Error, packed: bool) -> ReadError {
    let message = format!("the sound file cannot be read: {error}");
    let remedy = if packed {
        "Unpack it and save it as PCM of 8 to 32 bits, or as 32-bit float."
    } else {
        "Save it as PCM of 8 to 32 bits, or as 32-bit float; if it ends early, copy it again."
    };
    ReadError::new(file, 0, 0, message, remedy)
}
