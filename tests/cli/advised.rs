//! Advice on the signal, as a person asks for it.

/// The advice begins with what is to be taken; what holds for all signals is said once.
#[test]
fn advice_begins_with_its_answer() {
    let first = |more: &[&str]| {
        let advised =
            crate::fixture::evenfire(&[&["advise", "1-3-4-2", "--bits", "12"], more].concat());
        assert_eq!(
            advised.out.matches("run on battery").count(),
            1,
            "{}",
            advised.out
        );
        assert!(
            advised
                .out
                .ends_with("Assumed: 200 rpm (--rpm), petrol (--fuel).\n"),
            "{}",
            advised.out
        );
        let blocks = advised.out.split("\n\n");
        blocks.take(1).collect::<String>().replace('\n', " ")
    };
    let best = first(&[]);
    assert!(
        best.starts_with("Take: voltage at the posts, AC at ±2 V, 1000 samples a second"),
        "{best}"
    );
    let clamp = first(&["--clamp-range", "600", "--clamp-output", "1"]);
    assert!(
        clamp.starts_with("Take: starter current, clamp at ±"),
        "{clamp}"
    );
}

/// A slow crank needs more than one, which the answer and its reason say in whole sentences.
#[test]
fn advice_counts_the_cranks_of_a_slow_engine() {
    let advised = crate::fixture::evenfire(&[
        "advise", "1-3-4-2", "--bits", "14", "--rpm", "92", "--fuel", "petrol",
    ]);
    let advised: Vec<&str> = advised.out.split_whitespace().collect();
    let advised = advised.join(" ");
    assert!(
        advised.contains(
            "1 s of run-up, then 6 engine cycles of 1.30 s. 8 are wanted, but the starter may turn 10 s only: 2 cranks, \
             with 120 s of rest between"
        ),
        "{advised}"
    );
    assert!(
        advised.contains("of them; 2 such cranks, with 120 s of rest between."),
        "{advised}"
    );
    assert!(!advised.contains("Assumed"), "{advised}");
}

#[test]
fn advice_takes_a_wheel_as_it_is_written_and_no_number_of_cylinders() {
    let advise = |more: &[&str]| crate::fixture::evenfire(&[&["advise"], more].concat());
    let positions = advise(&["1-3-4-2", "--wheel", "60"]);
    assert_eq!(advise(&["1-3-4-2", "--wheel", "60-2"]).out, positions.out);
    assert_eq!(positions.status, 0, "{}", positions.err);
    let wrong = advise(&["1-3-4-2", "--wheel", "sixty"]).err;
    assert!(wrong.contains("as in 60-2"), "{wrong}");
    let count = advise(&["4"]).err;
    assert!(
        count.contains("4 is a number of cylinders; write the order, as in 1-3-4-2"),
        "{count}"
    );
}

#[test]
fn advice_takes_units_and_shows_an_example() {
    let advise = |more: &[&str]| crate::fixture::evenfire(&[&["advise"], more].concat());
    let bare = [
        "1-3-4-2",
        "--bits",
        "8",
        "--clamp-range",
        "600",
        "--clamp-output",
        "1",
    ];
    let units = [
        "1-3-4-2",
        "--bits",
        "8bit",
        "--clamp-range",
        "600A",
        "--clamp-output",
        "1 mV/A",
    ];
    assert_eq!(advise(&bare).out, advise(&units).out);
    let wrong = advise(&["1-3-4-2", "--bits", "8V"]);
    assert!(
        wrong.err.contains("write a whole number, as in 8 or 12"),
        "{}",
        wrong.err
    );
    let alone = advise(&[]);
    assert!(
        alone.err.contains("For example: evenfire advise 1-3-4-2"),
        "{}",
        alone.err
    );
    let teeth = advise(&["1-3-4-2", "--ranges", "20"]);
    let take = "Take: crank sensor at a range that holds its whole signal,";
    assert!(teeth.out.contains(take), "{}", teeth.out);
}
