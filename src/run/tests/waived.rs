//! Waivers and breaks, as the shop's policy lets them.

use super::*;
use crate::run::event::{BreaksAndWaivers, Stamped, WaiverFile};

fn word() -> Input {
    Input::Waive(WaiverFile {
        waiver: "waivers/1.txt".to_owned(),
        lead: "kim".to_owned(),
        reason: "no relay on this one".to_owned(),
    })
}

/// A job whose shop lets leads waive these steps and break off for so many minutes.
fn in_shop(steps: &[&str], pause_minutes: u32) -> Trial {
    let mut trial = Trial::new();
    let Event::Opened(mut opening) = trial.state.events()[0].event.clone() else {
        panic!()
    };
    let may = |step: &&str| ((*step).to_owned(), vec!["lead".to_owned()]);
    opening.breaks_and_waivers = BreaksAndWaivers {
        pause_minutes,
        waivers: steps.iter().map(may).collect(),
    };
    trial.state = State::fold(&[stamped(Event::Opened(opening))]);
    trial
}

#[test]
fn what_work_needs_is_waived_by_nobody_whatever_the_policy_says() {
    let mut trial = in_shop(&["look/drive", "look/hold", "look/order", "look/fuel"], 0);
    for (word_to_go_on, why) in [
        ("yes", "establishes `drive checked`"),
        ("yes", "establishes `vehicle held`"),
        ("4", "hangs on its answer"),
        ("1-3-4-2", "the analysis rests on it"),
        ("yes", "fuel"),
    ] {
        let refused = trial.put(word()).unwrap_err().to_string();
        assert!(refused.contains(why), "{refused}");
        trial.say(word_to_go_on);
    }
}

#[test]
fn a_waived_statement_goes_its_way_and_establishes_nothing() {
    let mut trial = in_shop(&["look/hold"], 0);
    // a shop whose work needs nothing of the kind
    for procedure in trial.library.procedures.values_mut() {
        for step in &mut procedure.steps {
            step.needs.retain(|need| need.0 != "vehicle held");
        }
    }
    trial.say("yes");
    trial.put(word()).unwrap();
    assert_eq!(trial.due(), "cylinders");
    assert!(!trial.holds("vehicle held"));
    let walk = trial.walk();
    let shown = walk.past().last().unwrap().value.shown();
    assert_eq!(shown, "waived by kim: no relay on this one");
}

#[test]
fn nobody_waives_what_the_policy_does_not_name() {
    let mut trial = in_shop(&[], 0);
    let procedures = &mut trial.library.procedures;
    procedures.get_mut("look").unwrap().steps[0]
        .establishes
        .clear();
    let refused = trial.put(word()).unwrap_err().to_string();
    assert!(
        refused.contains("names nobody who may waive look/drive"),
        "{refused}"
    );
}

fn lapsed_after(trial: &mut Trial, at: &str) -> usize {
    trial.put(Input::Resume { at: at.to_owned() }).unwrap();
    match &trial.state.events().last().unwrap().event {
        Event::Resumed { lapsed } => lapsed.len(),
        other => panic!("{other:?}"),
    }
}

/// The job's last event is of 08:00.
#[test]
fn a_break_longer_than_the_limit_or_a_clock_gone_back_puts_in_doubt() {
    for (minutes, at, lapsed) in [
        (0, "2026-03-02T08:00:01Z", 2),
        (10, "2026-03-02T08:00:00Z", 0),
        (10, "2026-03-02T08:10:00Z", 0),
        (10, "2026-03-02T08:10:01Z", 2),
        (10, "2026-03-03T08:00:00Z", 2),
        (10, "2026-03-02T07:59:59Z", 2),
        (10, "2026-03-02T09:09:00+01:00", 0),
        (10, "tomorrow", 2),
    ] {
        let mut trial = in_shop(&[], minutes);
        for word in TO_CRANK {
            trial.say(word);
        }
        assert_eq!(lapsed_after(&mut trial, at), lapsed, "{minutes} min, {at}");
        let due = if lapsed == 0 { "crank" } else { "hold" };
        assert_eq!(trial.due(), due);
    }
}

/// What the program writes when it opens the journal again is no work that somebody did.
#[test]
fn a_break_is_counted_from_when_somebody_was_there() {
    let mended = Event::Mended {
        kept_in: "torn.1".to_owned(),
        bytes: 12,
    };
    let practice = Event::Practice {
        reason: "answers from a file".to_owned(),
        simulated_clock: false,
    };
    for (at, lapsed) in [("2026-03-02T08:09:00Z", 0), ("2026-03-02T09:00:00Z", 2)] {
        let mut trial = in_shop(&[], 10);
        for word in TO_CRANK {
            trial.say(word);
        }
        for event in [mended.clone(), practice.clone()] {
            let at = at.to_owned();
            trial.state.push(Stamped { at, event });
        }
        assert_eq!(lapsed_after(&mut trial, at), lapsed, "{at}");
    }
}
