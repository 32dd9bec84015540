//! Sound files of every width, written by the same crate's writer and by hand.

use evenfire::capture::setup::{self, Setup};
use evenfire::capture::take;
use evenfire::cranking::answer::{CheckName, SignalKind};
use evenfire::simulate::draw::Wish;
use evenfire::simulate::practice::practice;
use hound::{SampleFormat, WavSpec, WavWriter};

use super::fixture::{gzip, read, with};

fn scaled() -> Setup {
    with("channels: {battery_voltage: {column: channel 2, scale: 20}}\n")
}

fn spec(bits_per_sample: u16, sample_format: SampleFormat) -> WavSpec {
    WavSpec {
        channels: 2,
        sample_rate: 8000,
        bits_per_sample,
        sample_format,
    }
}

/// Two channels; the second holds `values`, full swing 1.
fn file(bits: u16, format: SampleFormat, values: &[f64]) -> Vec<u8> {
    let mut bytes = std::io::Cursor::new(Vec::new());
    let mut writer = WavWriter::new(&mut bytes, spec(bits, format)).unwrap();
    let full = 2f64.powi(i32::from(bits) - 1);
    for value in values {
        if format == SampleFormat::Float {
            writer.write_sample(0.0f32).unwrap();
            writer.write_sample(*value as f32).unwrap();
        } else {
            writer.write_sample(0i32).unwrap();
            let code = (value * full).round().clamp(-full, full - 1.0);
            writer.write_sample(code as i32).unwrap();
        }
    }
    writer.finalize().unwrap();
    bytes.into_inner()
}

#[test]
fn all_widths_come_out_scaled() {
    let values = [0.0, 0.5, -0.25, 0.125];
    for (bits, format) in [
        (8, SampleFormat::Int),
        (16, SampleFormat::Int),
        (24, SampleFormat::Int),
        (32, SampleFormat::Int),
        (32, SampleFormat::Float),
    ] {
        for packed in [false, true] {
            let bytes = file(bits, format, &values);
            let bytes = if packed { gzip(&bytes) } else { bytes };
            let recording = read(&bytes, &scaled()).unwrap();
            assert_eq!(
                recording.capture.columns["channel 2"],
                [0.0, 10.0, -5.0, 2.5],
                "{bits} bits"
            );
            let time: Vec<f64> = (0..4).map(|row| f64::from(row) / 8000.0).collect();
            assert_eq!(recording.capture.time, time);
            assert_eq!(recording.understood.form, "wave");
        }
    }
}

#[test]
fn the_greatest_and_least_codes_are_clipped() {
    for (bits, format) in [
        (8, SampleFormat::Int),
        (16, SampleFormat::Int),
        (32, SampleFormat::Float),
    ] {
        let recording = read(&file(bits, format, &[0.0, 1.0, 1.0, -1.0, 0.5]), &scaled()).unwrap();
        assert_eq!(
            recording.capture.columns["channel 2"],
            [0.0, 20.0, 20.0, -20.0, 10.0],
            "{bits} bits"
        );
        assert_eq!(recording.understood.columns[0].over_range, 3);
        let range = recording.setup.channels.battery_voltage.unwrap().full_scale;
        assert_eq!(range, Some(20.0));
    }
}

/// A wave file by hand, after the format's chunk layout (multimedia programming interface, 1991): the crate
/// that reads is not the one that wrote.
#[test]
fn a_file_made_by_hand_is_read() {
    let mut bytes = b"RIFF\x2c\0\0\0WAVEfmt \x10\0\0\0\x01\0\x01\0".to_vec();
    bytes.extend(1000u32.to_le_bytes());
    bytes.extend(2000u32.to_le_bytes());
    bytes.extend([2, 0, 16, 0]);
    bytes.extend(b"data\x08\0\0\0");
    for code in [0i16, 16_384, -16_384, 8192] {
        bytes.extend(code.to_le_bytes());
    }
    let setup = with("channels: {battery_voltage: {column: channel 1, scale: 2}}\n");
    let recording = read(&bytes, &setup).unwrap();
    assert_eq!(
        recording.capture.columns["channel 1"],
        [0.0, 1.0, -1.0, 0.5]
    );
    assert_eq!(recording.capture.time, [0.0, 0.001, 0.002, 0.003]);
    let error = read(&bytes[..bytes.len() - 3], &setup).unwrap_err();
    assert!(error.message.contains("sound file"), "{error}");
}

#[test]
fn what_a_sound_file_does_not_say_must_be_told() {
    let bytes = file(16, SampleFormat::Int, &[0.0, 0.5, 0.25]);
    for (rest, says) in [
        ("channels: {battery_voltage: {column: channel 2}}", "scale:"),
        (
            "channels: {battery_voltage: {column: volts, scale: 1}}",
            "no column is headed \"volts\"",
        ),
        (
            "time: {rate_hz: 5}\nchannels: {battery_voltage: {column: channel 2, scale: 1}}",
            "its own rate",
        ),
        (
            "time: {column: t}\nchannels: {battery_voltage: {column: channel 2, scale: 1}}",
            "no time column",
        ),
    ] {
        let error = read(&bytes, &with(&format!("{rest}\n"))).unwrap_err();
        assert!(error.to_string().contains(says), "{error}");
        assert!(!error.remedy.is_empty());
    }
}

/// A cranking capture written as sound finds the same weak cylinder as the table.
#[test]
fn a_cranking_capture_as_sound_says_the_same() {
    let wish = Wish {
        source: Some(SignalKind::BatteryVoltage),
        losses: Some(vec![(1, 60.0)]),
        rate_hz: Some(8000.0),
        ..Wish::anything()
    };
    let made = practice(9, &wish).unwrap();
    let setup = made.setup();
    let table = take(made.csv().as_bytes(), "c", &setup).unwrap();
    let by_table = evenfire::cranking::analyse(&table.capture, &table.setup).analysis;
    // full swing is 32 V and no sample reaches it
    let mut bytes = std::io::Cursor::new(Vec::new());
    let mut writer = WavWriter::new(&mut bytes, spec(24, SampleFormat::Int)).unwrap();
    let reference = made
        .table
        .reference
        .clone()
        .unwrap_or(vec![0.0; made.table.signal.len()]);
    for (mark, signal) in reference.iter().zip(&made.table.signal) {
        let code = |value: f64| (value / 32.0 * 8_388_608.0).round() as i32;
        writer.write_sample(code(*mark)).unwrap();
        writer.write_sample(code(*signal)).unwrap();
    }
    writer.finalize().unwrap();
    let mut told = setup::write(&setup)
        .replace(
            "column: battery_voltage_V",
            "column: channel 2\n    scale: 32",
        )
        .replace("column: reference_V", "column: channel 1")
        .replace("time:\n  column: time_s\n", "");
    // the range is told in the column's unit: shares of full swing
    let range = setup.channels.battery_voltage.as_ref().unwrap().full_scale;
    if let Some(range) = range {
        let shown = told
            .lines()
            .find(|line| line.contains("full_scale"))
            .unwrap()
            .to_owned();
        told = told.replace(&shown, &format!("    full_scale: {}", range / 32.0));
    }
    let sound = take(
        bytes.into_inner().as_slice(),
        "c.wav",
        &setup::read(&told, "s").unwrap(),
    )
    .unwrap();
    let by_sound = evenfire::cranking::analyse(&sound.capture, &sound.setup).analysis;
    assert_eq!(
        by_sound.verdict.kind, by_table.verdict.kind,
        "{:?}",
        by_sound.quality
    );
    assert_eq!(by_sound.verdict.cylinders, by_table.verdict.cylinders);
    let clipped = by_sound
        .quality
        .iter()
        .find(|check| check.check == CheckName::Clipped)
        .unwrap();
    assert!(clipped.passed);
}
