//! The long readers: a journal that is read keeps its bytes, a record that is read is written and read again.
#![no_main]

use evenfire::record::bundle::model::Record;
use evenfire::run::journal::line;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let Some((which, bytes)) = bytes.split_first() else {
        return;
    };
    if which % 2 == 0 {
        if let Ok(reading) = line::read(bytes) {
            let torn = reading.torn.map_or(0, |torn| torn.bytes.len());
            let lines = bytes[..bytes.len() - torn].iter().filter(|byte| **byte == b'\n').count();
            assert_eq!(reading.lines.len(), lines);
        }
    } else if let Ok(record) = serde_json::from_slice::<Record>(bytes) {
        let text = record.text().unwrap();
        let again: Record = serde_json::from_str(&text).unwrap();
        assert_eq!(again, record);
    }
});
