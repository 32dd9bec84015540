use super::*;

fn converted(text: &str, from: Unit, to: Unit) -> f64 {
    let value = Measured::parse(text, from)
        .unwrap()
        .convert(to)
        .unwrap()
        .value;
    value.to_string().parse().unwrap()
}

/// 1 psi = 6.894757 kPa and 1 inch = 25.4 mm, 1 mile = 1.609344 km (definitions; NIST SP 811,
/// from memory); 32 °F = 0 °C and 212 °F = 100 °C.
#[test]
fn units_convert_by_their_definitions() {
    assert!((converted("1", Unit::Psi, Unit::Kilopascal) - 6.894757).abs() < 1e-9);
    assert!((converted("0.040in", Unit::Inch, Unit::Millimetre) - 1.016).abs() < 1e-9);
    assert!((converted("100 mi", Unit::Kilometre, Unit::Kilometre) - 160.9344).abs() < 1e-9);
    assert!((converted("212", Unit::Fahrenheit, Unit::Celsius) - 100.0).abs() < 1e-9);
    assert!((converted("32 F", Unit::Celsius, Unit::Celsius)).abs() < 1e-9);
    assert!((converted("5000 ft", Unit::Metre, Unit::Metre) - 1524.0).abs() < 1e-9);
}

/// 1 inHg = 0.4912 psi: US Army OD1001, from memory.
#[test]
fn an_inch_of_mercury_is_a_vacuum_and_no_gauge_pressure() {
    let kilopascal = converted("1", Unit::InchMercury, Unit::KilopascalVacuum);
    assert!((kilopascal / 6.894_757 - 0.4912).abs() < 5e-5);
    assert!(Measured::parse("18 inHg", Unit::Psi).is_err());
}

/// Exact, and a capital M is never taken for milli.
#[test]
fn resistances_convert_exactly_however_they_are_written() {
    for (text, ohm) in [
        ("0.8", "0.8"),
        ("0.8 Ω", "0.8"),
        ("0.8 \u{2126}", "0.8"),
        ("0,8Ohm", "0.8"),
        ("800 mohm", "0.800"),
        ("3 mΩ", "0.003"),
        ("1.2 kΩ", "1200"),
        ("1.2 KOHM", "1200"),
    ] {
        let read = Measured::parse(text, Unit::Ohm).unwrap();
        let value = read.convert(Unit::Ohm).unwrap().value;
        assert_eq!(value, ohm.parse::<Decimal>().unwrap(), "{text}");
    }
    let back = Measured::parse("0.8 ohm", Unit::Ohm).unwrap();
    assert_eq!(
        back.convert(Unit::Milliohm).unwrap().value,
        Decimal::from(800)
    );
    for text in ["1 Mohm", "1 MΩ", "1 MOHM", "1 V"] {
        assert!(Measured::parse(text, Unit::Ohm).is_err(), "{text}");
    }
}

#[test]
fn every_symbol_reads_back() {
    for unit in Unit::all() {
        assert_eq!(Unit::parse(unit.symbol()), Ok(unit));
    }
    for (written, unit) in Unit::spellings() {
        assert_eq!(Unit::parse(written), Ok(unit));
    }
}

#[test]
fn gauge_and_absolute_never_mix() {
    let gauge = Measured::parse("80 PSI", Unit::Kilopascal).unwrap();
    assert_eq!(gauge.unit, Unit::Psi);
    assert!(gauge.convert(Unit::KilopascalAbsolute).is_err());
    assert!(Measured::parse("80 psi abs", Unit::Psi).is_err());
}

#[test]
fn thousands_may_stand_apart() {
    for (text, value) in [
        ("148 200 km", 148_200),
        ("1 482 000", 1_482_000),
        ("12 km", 12),
    ] {
        let read = Measured::parse(text, Unit::Kilometre).unwrap();
        assert_eq!(read.value, Decimal::from(value), "{text}");
    }
    for text in ["1482 00 km", "12 60 km", "1 2345 km"] {
        assert!(Measured::parse(text, Unit::Kilometre).is_err(), "{text}");
    }
}

#[test]
fn what_is_no_number_is_refused() {
    for text in ["", "V", "1.2.3", "12,4,5", "twelve", "12 furlong"] {
        assert!(Measured::parse(text, Unit::Volt).is_err(), "{text}");
    }
}

#[test]
fn units_are_taken_as_people_write_them() {
    for (text, asked, value, unit) in [
        ("84000 miles", Unit::Kilometre, 84_000, Unit::Mile),
        ("84 000 Mi", Unit::Kilometre, 84_000, Unit::Mile),
        ("84000 km", Unit::Kilometre, 84_000, Unit::Kilometre),
        ("10 mV/A", Unit::Millivolt, 10, Unit::Millivolt),
        ("1 V / A", Unit::Millivolt, 1, Unit::Volt),
        ("4 cyl", Unit::Count, 4, Unit::Count),
        ("12 volts", Unit::Volt, 12, Unit::Volt),
        ("600 amps", Unit::Ampere, 600, Unit::Ampere),
        ("50 mA", Unit::Ampere, 50, Unit::Milliampere),
    ] {
        let read = Measured::parse(text, asked);
        let value = Decimal::from(value);
        assert_eq!(read, Ok(Measured { value, unit }), "{text}");
    }
    assert!(Measured::parse("10 mV/A", Unit::Volt).is_err());
}

#[test]
fn an_unknown_unit_is_told_with_those_that_are_known() {
    let told = |text, unit| Measured::parse(text, unit).unwrap_err().to_string();
    assert_eq!(
        told("12 furlong", Unit::Kilometre),
        "\"furlong\" is no unit that is known here; write km or mi"
    );
    assert_eq!(
        told("4 pots", Unit::Count),
        "\"pots\" is no unit that is known here; write the number alone"
    );
    assert_eq!(
        told("80 psi", Unit::BarAbsolute),
        "psi cannot stand where bar abs is asked for; write psi abs, kPa abs or bar abs"
    );
    assert!(told("10 V/A", Unit::Volt).ends_with("write V or mV"));
}
