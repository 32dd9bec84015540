//! What a mistaken edit looks like: slips of the pen in the shipped files, and what each gives.

use super::shipped::{SHEETS, problems};

/// What is written, what is written by mistake, what is said of it (the first of the problems).
const MISTAKES: [(&str, &str, &str); 16] = [
    // a step that no longer leads where it did
    (
        "    then: hold-vehicle\n",
        "    then: hold-vehical\n",
        "there is no step `hold-vehical`",
    ),
    // a protection is skipped
    (
        "    then: belts\n",
        "    then: battery-area\n",
        "no way leads to step `belts`",
    ),
    // a no that goes on as if it were a yes
    (
        "    confirm: The vehicle cannot move.\n    establishes: [vehicle held]\n",
        "    confirm: The vehicle cannot move.\n",
        "step `prove` needs `vehicle held`, which does not hold on every way to it (its work is proving crank)",
    ),
    // what is cut is put back under another name
    (
        "      fuel pump relay: Put the fuel pump relay or fuse back into its own place.\n",
        "      fuel-pump relay: Put the fuel pump relay or fuse back into its own place.\n",
        "`fuel-pump relay` is no thing that is known to cut the fuel",
    ),
    // the proof of the fuel cut without a crank
    (
        "    work: proving crank\n",
        "    work: none\n",
        "step `prove` establishes `fuel off proved` without a proving crank",
    ),
    // a gap between two branches
    (
        "      - when: pedal\n        go: pedal-proves-nothing\n",
        "",
        "no branch of step `fuel-way` takes this: pedal",
    ),
    // a choice that is not there
    (
        "      - when: trigger, cam-sensor\n",
        "      - when: trigger, camsensor\n",
        "`camsensor` never comes here",
    ),
    // work named away
    (
        "    work: crank\n    needs: [eyes protected",
        "    work: none\n    needs: [eyes protected",
        "step `crank` captures cranking, but its `work` is not `crank`",
    ),
    // a slip in a condition
    (
        "    establishes: [battery area safe]\n",
        "    establishes: [battery areas safe]\n",
        "the condition `battery areas safe` is written nearly like `battery area safe`",
    ),
    // no bound for trying again
    (
        "    at-most: {times: 4, then: put-back-not-done}\n    why: >-\n      An engine that fires",
        "    why: >-\n      An engine that fires",
        "a loop without an end: fuel-way → pedal-proves-nothing → fuel-way",
    ),
    // a hazard lost in a comment
    (
        "    warning: The engine may start or the vehicle may move while you crank.\n",
        "    warning: The engine may start # or the vehicle may move while you crank.\n",
        "` #` cuts the warning off here",
    ),
    // a wrong unit
    (
        "measure: {quantity: distance, unit: km,",
        "measure: {quantity: distance, unit: kPa,",
        "`kPa` is a unit of gauge pressure, not of distance",
    ),
    // a value used before anybody has measured it
    (
        "    then: expected-speed\n",
        "    then: converter-bits\n",
        "step `plan-clamp` uses `expected-speed`, which does not exist on every way to it",
    ),
    // a hazard that stood before the crank and was moved behind it
    (
        "    danger: >-\n      Fans, belts and pulleys turn. Keep hands, hair, hoses and leads clear. The engine may start, may kick\n      \
         back; the vehicle may move.\n",
        "",
        "step `crank` is work that can hurt, without a hazard",
    ),
    // putting back forgotten on one way
    (
        "    then: set-posts\n    if-not: leads-off-not-done\n",
        "    then: set-posts\n    if-not: not-done\n",
        "`battery charger`, `diesel fuel cut`, `fault memory`, `fuel pump relay`, `gas valve`, `glow plug supply`, \
         `injector connectors`, `remote start and stop-start`, `test leads`, `wheel chocks` can still be disabled at the outcome `not-done`",
    ),
    // a key written twice
    (
        "    confirm: The key is away again.\n",
        "    confirm: The key is away again.\n    confirm: The key is away.\n",
        "`confirm` stands twice; the first is in line",
    ),
];

#[test]
fn each_is_found_and_named() {
    for (written, mistaken, told) in MISTAKES {
        let holds = |(_, text): &(&str, &str)| text.contains(written);
        let (name, text) = SHEETS.into_iter().find(holds).unwrap();
        let spoiled = text.replacen(written, mistaken, 1);
        let found = problems("relative-compression", Some((name, &spoiled)));
        let messages = found
            .iter()
            .map(|found| found.split(": ").nth(1).unwrap_or_default());
        let messages: Vec<&str> = messages.collect();
        let named = found.iter().any(|found| found.contains(told));
        assert!(named, "{mistaken}\n{messages:?}\n{found:#?}");
    }
}
