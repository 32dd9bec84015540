use super::*;

fn line(job: &str, edit: impl Fn(&mut JobLine)) -> JobLine {
    let mut line = JobLine {
        job: job.to_owned(),
        status: "sound".to_owned(),
        cylinders: Some(4),
        firing_order: Some("1-3-4-2".to_owned()),
        outcome: Some("nothing-found".to_owned()),
        ..JobLine::default()
    };
    edit(&mut line);
    line
}

#[test]
fn lines_are_counted_by_what_they_say() {
    let lines = [
        line("0001", |l| {
            l.vehicle_key = Some("A".into());
            l.findings = "not_countersigned report_missing".into();
            l.waived = "cool-down=kim crank-again=kim".into();
            l.waived_because = "it was cold; the van had to go".into();
            l.lead = Some("kim".into());
            l.decision = Some("accepted".into());
            l.lapsed = "fuel off; key away".into();
        }),
        line("0002", |l| {
            l.vehicle_key = Some("A".into());
            l.captures = 3;
            l.captures_refused = 2;
            l.refused_because = "clipped noise clipped".into();
            l.leak_down_against_verdict = Some("confirmed".into());
            l.findings = "not_signed not_countersigned".into();
            l.outcome = Some("fault-found".into());
        }),
        line("0003", |l| {
            l.vehicle_key = Some("B".into());
            l.lapsed = "fuel off".into();
            l.findings = "one_signature report_differs".into();
            l.against_policy = "limit 80 %, today 85 %".into();
            l.leak_down_against_verdict = Some("held_air".into());
            l.firing_intervals = Some("90-150".into());
        }),
    ];
    let asked = Asked {
        left_out: 7,
        ..Asked::default()
    };
    let figures = Figures::of(lines.iter(), asked);
    assert_eq!((figures.jobs, figures.practice), (3, 7));
    assert_eq!(figures.open_countersignatures, ["0001"]);
    assert_eq!(figures.waivers_by_person["kim"], 2);
    assert_eq!(figures.waivers_by_step["cool-down"], 1);
    assert_eq!(figures.decided_own_waivers, ["0001"]);
    let told = |step: &str| figures.waivers[step][0].reason.clone();
    assert_eq!(told("cool-down"), "it was cold");
    assert_eq!(told("crank-again"), "the van had to go");
    assert_eq!(figures.not_signed, ["0002"]);
    assert_eq!(figures.held_air, ["0003"]);
    assert_eq!(figures.report_stale, ["0001", "0003"]);
    assert_eq!(
        figures.against_policy_jobs["limit 80 %, today 85 %"],
        ["0003"]
    );
    assert_eq!(figures.lapsed_conditions["fuel off"], 2);
    assert_eq!(figures.refused_because["clipped"], 2);
    assert_eq!(figures.repeat_visits["A"], ["0001", "0002"]);
    assert_eq!(figures.repeat_visits.len(), 1);
    assert_eq!(figures.confirmed(), (1, 2));
    assert_eq!(
        figures.outcomes_by_layout["4 cylinders, 1-3-4-2"]["fault-found"],
        1
    );
    assert_eq!(
        figures.outcomes_by_layout["4 cylinders, 1-3-4-2, 90-150"].len(),
        1
    );
}

#[test]
fn what_is_unsound_is_in_no_figure() {
    let lines = [
        line("0004", |l| {
            l.status = "unsound".into();
            l.vehicle_key = Some("B".into());
            l.waived = "cool-down=kim".into();
            l.findings = "returned not_countersigned".into();
        }),
        line("0005", |l| {
            l.status = "unsound".into();
            l.practice = true;
            l.lapsed = "fuel off".into();
        }),
    ];
    let asked = Asked {
        left_out: 7,
        ..Asked::default()
    };
    let figures = Figures::of(lines.iter(), asked);
    assert_eq!(figures.unsound, ["0004", "0005"]);
    assert_eq!(figures.by_status["unsound"], 1);
    assert!(figures.returned.is_empty());
    assert_eq!((figures.jobs, figures.left_out), (1, 7));
    assert!(figures.waivers.is_empty() && figures.lapsed_conditions.is_empty());
    assert!(figures.open_countersignatures.is_empty());
}
