//! Flaws that show only along a way.

use super::{SOUND, broken, expect, problems, problems_of};

#[test]
fn what_is_needed_holds_on_every_way() {
    expect(
        "then: held\n    if-not: turned-away",
        "then: held\n    if-not: held",
        &[
            "42:11: step `prove` needs `drive checked`, which does not hold on every way to it (its work is proving crank)",
            "51:11: step `crank` needs `drive checked`, which does not hold on every way to it (its work is crank)",
        ],
    );
    expect(
        "    then: prove\n    if-not: back-not-done",
        "    then: prove\n    if-not: prove",
        &[
            "42:11: step `prove` needs `fuel off`, which does not hold on every way to it (its work is proving crank)",
            "51:11: step `crank` needs `fuel off`, which does not hold on every way to it (its work is crank)",
        ],
    );
    expect(
        "    work: crank\n",
        "    work: crank\n    needs: [lead tight]\n",
        &["52:13: step `crank` needs `lead tight`, which does not hold on every way to it"],
    );
}

#[test]
fn what_is_revoked_no_longer_holds() {
    expect(
        "revokes: [key away]\n    capture",
        "revokes: [key away, vehicle held]\n    capture",
        &[
            "51:11: step `crank` needs `vehicle held`, which does not hold on every way to it (its work is crank)",
        ],
    );
}

#[test]
fn fuel_off_is_no_mere_word() {
    expect(
        "    disables: {fuel pump relay: Refit the fuel pump relay.}\n",
        "",
        &[
            "32:11: step `cut-fuel` says `fuel off` where nothing need cut the fuel",
            "69:16: step `back-found` restores `fuel pump relay`, which nothing here disables",
        ],
    );
}

/// Only what cuts fuel counts as a fuel cut, not anything else that the same step takes off.
#[test]
fn what_cuts_no_fuel_is_no_fuel_cut() {
    let renamed = SOUND.replace("fuel pump relay", "battery charger");
    assert_eq!(
        problems_of(&[("sound", &renamed)]),
        ["32:11: step `cut-fuel` says `fuel off` where nothing need cut the fuel"]
    );
}

/// What cuts the fuel is disabled in one step, `fuel off` said in the next: putting it back still ends that.
#[test]
fn putting_back_a_fuel_cut_ends_fuel_off_whoever_said_it() {
    let two = SOUND
        .replace(
            "    revokes: [fuel off proved]\n    confirm: The relay is out.\n    establishes: [fuel off]\n    then: prove\n",
            "    confirm: The relay is out.\n    then: still\n",
        )
        .replace(
            "  prove:\n",
            "  still:\n    confirm: The fuel is still cut.\n    establishes: [fuel off]\n    then: prove\n    if-not: back-not-done\n  prove:\n",
        );
    assert_eq!(problems_of(&[("sound", &two)]), [""; 0]);
    let kept = two.replace("    revokes: [fuel off, fuel off proved]\n", "");
    let found = problems_of(&[("sound", &kept)]);
    assert_eq!(
        found,
        [
            "73:15: step `back-found` must revoke `fuel off`, `fuel off proved`: it puts back `fuel pump relay`"
        ]
    );
}

#[test]
fn what_is_disabled_is_put_back() {
    expect(
        "    then: crank\n    if-not: back-not-done",
        "    then: crank\n    if-not: turned-away",
        &["82:3: `fuel pump relay` can still be disabled at the outcome `turned-away`"],
    );
    expect(
        "restores: [fuel pump relay]",
        "restores: [fuel pump rely]",
        // what it would leave disabled is not told as well
        &["70:16: step `back-found` restores `fuel pump rely`, which nothing here disables"],
    );
    expect(
        "    if-not: again\n",
        "    if-not: turned-away\n",
        &["82:3: `fuel pump relay` can still be disabled at the outcome `turned-away`"],
    );
}

#[test]
fn every_step_is_reached_and_comes_to_an_end() {
    expect(
        "        go: back-found",
        "        go: back-not-done",
        &["67:3: no way leads to step `back-found`, and so neither to `found`"],
    );
}

#[test]
fn loops_have_a_bound() {
    expect(
        "    at-most: {times: 3, then: back-not-done}\n",
        "",
        &["48:3: a loop without an end: crank → judge → crank"],
    );
    expect(
        "at-most: {times: 3, then: back-not-done}",
        "at-most: {times: 3, then: judge}",
        &["48:3: a loop without an end: crank → judge → crank"],
    );
}

#[test]
fn values_exist_where_they_are_used() {
    expect(
        "finding: Not tested.",
        "finding: Not tested at {rest-reading}.",
        &["84:28: step `turned-away` uses `rest-reading`, which does not exist on every way to it"],
    );
}

/// A called procedure's step is proved where it is called, its outcome decides where it goes on.
#[test]
fn calls_are_walked_through() {
    let caller = SOUND.replace(
        "  found:\n    outcome: fault-found\n",
        "  found:\n    call: inner\n    with: {volts: rest-reading}\n    then:\n      - when: done\n        go: end\n      - when: otherwise\n        go: turned-away\n  end:\n    outcome: fault-found\n",
    );
    let inner = "procedure: inner\nrevision: 1\ntitle: t\npurpose: p\ntakes: [volts]\nsteps:\n  hold:\n    phase: p\n    confirm: Held.\n    establishes: [lamp lit]\n    then: turn\n    if-not: stopped\n  turn:\n    warning: w\n    do: Turn at {volts} V.\n    work: crank\n    revokes: [key away]\n    confirm: Turned.\n    then: done\n    if-not: done\n  done:\n    outcome: nothing-found\n    finding: f\n  stopped:\n    outcome: not-done\n    finding: f\n";
    let fuel_is_back = [
        "16:11: step `turn` needs `fuel off proved`, which does not hold on every way to it (its work is crank)",
        "16:11: step `turn` needs `fuel off`, which does not hold on every way to it (its work is crank)",
    ];
    let together = |caller: &str| problems_of(&[("sound", caller), ("inner", inner)]);
    assert_eq!(together(&caller), fuel_is_back);
    let by_outcome = caller.replace("        go: end\n", "        go: lamp\n").replace(
        "  end:\n",
        "  lamp:\n    needs: [lamp lit]\n    confirm: It is lit.\n    then: end\n    if-not: end\n  end:\n",
    );
    assert_eq!(together(&by_outcome), fuel_is_back);
    let by_any = by_outcome.replace(
        "otherwise\n        go: turned-away\n  lamp",
        "otherwise\n        go: lamp\n  lamp",
    );
    let lamp = "`lamp` needs `lamp lit`, which does not hold on every way to it";
    assert!(together(&by_any).iter().any(|found| found.ends_with(lamp)));
    let alone = inner.replace("{volts}", "{voltz}");
    assert_eq!(
        problems_of(&[("inner", &alone)]),
        ["15:17: `voltz` is neither a step nor an input"]
    );
}

/// The sound procedure with leads connected between the proof and the crank.
fn with_leads(establishes: &str) -> String {
    let leads = format!(
        "    then: leads\n    if-not: back-not-done\n  leads:\n    warning: Leads short.\n    do: Connect the \
         clamp.\n    work: connect leads\n    confirm: The clamp is on.\n    establishes: [{establishes}]\n    \
         then: crank\n    if-not: back-not-done\n"
    );
    let away = broken("drive checked]", "drive checked, leads safe]");
    let away = away.replacen(
        "establishes: [fuel off proved]\n    then: crank\n    if-not: back-not-done\n",
        &format!("establishes: [fuel off proved]\n{leads}"),
        1,
    );
    away.replacen("    revokes: [key away]\n    confirm", "    confirm", 1)
        .replacen(
            "belts clear, battery area safe]",
            "belts clear, battery area safe, key away]",
            1,
        )
}

#[test]
fn hands_at_the_vehicle_end_what_was_seen_to_before() {
    let key = "42:11: step `prove` (proving crank) does not revoke `key away`";
    let lost = |what: &str| {
        format!(
            "58:11: step `crank` needs `{what}`, which does not hold on every way to it (its work is crank)"
        )
    };
    let stale = problems(&with_leads("leads tight"));
    let wanted = [
        key.to_owned(),
        lost("belts clear"),
        lost("bystanders clear"),
    ];
    assert_eq!(stale, wanted);
    // the statement of that very step may say it again
    let again = problems(&with_leads("belts clear, bystanders clear"));
    assert_eq!(again, [key]);
    // the run goes by the same list
    let source = include_str!("../../../../procedures/static-compression.yaml");
    let source = |_: &str| Some(("static-compression.yaml".to_owned(), source.to_owned()));
    let library = crate::procedure::read_library("static-compression", &source).unwrap();
    let steps = &library.procedures["static-compression"].steps;
    let gauge = steps.iter().find(|step| step.id == "gauge-next").unwrap();
    let ended: Vec<&str> = gauge.revokes.iter().map(|c| c.0.as_str()).collect();
    assert!(ended.contains(&"belts clear") && ended.contains(&"bystanders clear"));
}
