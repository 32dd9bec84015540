//! What is written reads back the same, and what is read as a list has one spelling.

use evenfire::record::bundle::amendment::Amendment;
use evenfire::record::bundle::decision::{Decision, Ruling, SCHEMA as DECISION};
use evenfire::record::bundle::manifest::{Line, Manifest, is_plain};
use evenfire::record::digest;
use proptest::prelude::*;

const AMENDMENT: &str = "evenfire.amendment/1";

fn line(name: String) -> Line {
    Line {
        sha256: digest::of_bytes(name.as_bytes()),
        name,
    }
}

proptest! {
    #[test]
    fn manifests_read_back(names in prop::collection::vec("[a-zÜ0-9][a-zÜ0-9 ._+()=,@-]{0,9}[a-z](/[a-z0-9]{1,4}){0,3}", 1..9)) {
        prop_assert!(names.iter().all(|name| is_plain(name)));
        let manifest = Manifest::of(names.into_iter().map(line));
        prop_assert_eq!(Manifest::parse(manifest.text().as_bytes()), Ok(manifest));
    }

    /// Half of these are manifests, the others have a line out of order, of other letters or cut short.
    #[test]
    fn what_reads_as_a_manifest_has_one_spelling(
        names in prop::collection::vec("[ab]{1,2}", 1..4),
        odd in prop::sample::select(vec!["", "\n", "\r\n", " ", "x"]),
        upper in any::<bool>(),
    ) {
        let mut text: String = names.into_iter().map(line).map(|line| format!("{}  {}\n", line.sha256, line.name)).collect();
        if upper {
            text = text.to_uppercase();
        }
        text += odd;
        if let Ok(manifest) = Manifest::parse(text.as_bytes()) {
            prop_assert_eq!(manifest.text(), text);
        }
    }

    #[test]
    fn amendments_read_back(corrects in any::<String>(), adds in any::<String>(), reason in any::<String>(), number in any::<u32>()) {
        let amendment = Amendment {
            schema: AMENDMENT.into(),
            job: "0042".into(),
            number,
            corrects,
            adds,
            reason,
            name: "jo".into(),
            time: "2026-03-02T09:40:00Z".into(),
            previous: digest::of_bytes(b""),
        };
        let text = amendment.text().unwrap();
        // one that says nothing is refused, and nothing else is
        prop_assert_eq!(Amendment::parse(text.as_bytes()).ok(), amendment.sound().ok());
    }

    #[test]
    fn decisions_read_back(reason in any::<Option<String>>(), name in any::<String>(), returned in any::<bool>()) {
        let decision = Decision {
            schema: DECISION.into(),
            job: "0042".into(),
            decision: if returned { Ruling::Returned } else { Ruling::Accepted },
            reason,
            name,
            time: "2026-03-02T09:40:00Z".into(),
        };
        let text = decision.text().unwrap();
        prop_assert_eq!(Decision::parse(text.as_bytes()).ok(), decision.sound().ok());
    }
}
