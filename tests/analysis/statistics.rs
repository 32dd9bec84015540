//! The analysis' own statistics against NIST's Statistical Reference Datasets (NIST/ITL StRD, works of the US
//! government): scatter between cycles is the mean square within groups of a one-way layout, drift within a
//! cycle a straight line, the fit Levenberg-Marquardt with its settings.
//!
//! Agreement is told as NIST's users do, in digits: −log10 of the relative error (McCullough 1998). In double
//! precision 12 and more are expected at the lower level of difficulty; at the average one about 8, since seven
//! equal leading digits are lost before the arithmetic begins; at the higher one 2 to 3 (13 equal digits leave
//! three of 0.1's).

use evenfire::cranking::fit::{covariance, minimised};
use evenfire::cranking::scatter::{line, mean, within};
use levenberg_marquardt::LeastSquaresProblem;
use nalgebra::{DMatrix, DVector, Dyn, storage::Owned};

const TAU: f64 = std::f64::consts::TAU;

/// Step of the analysis' derivatives, in units of each parameter's spread (`fit::STEP`).
const STEP: f64 = 1e-3;

/// Digits in which two numbers agree.
fn digits(found: f64, certified: f64) -> f64 {
    -(((found - certified) / certified).abs().max(1e-16)).log10()
}

fn numbers(text: &str) -> Vec<Vec<f64>> {
    text.lines()
        .filter(|line| !line.starts_with('#'))
        .map(|line| {
            line.split_whitespace()
                .map(|n| n.parse().unwrap())
                .collect()
        })
        .collect()
}

/// Mean square within groups, and between over within, both by the analysis' functions: groups of one size.
fn one_way(text: &str) -> (f64, f64) {
    let groups = numbers(text);
    let inside = within(groups.iter().map(Vec::as_slice));
    let means: Vec<f64> = groups.iter().map(|group| mean(group)).collect();
    let between = groups[0].len() as f64 * within([&means[..]]);
    (inside, between / inside)
}

#[test]
fn scatter_is_that_of_nists_one_way_layouts() {
    // name, data, certified mean square within and F, digits of each expected
    let sets = [
        (
            "SiRstv, lower",
            include_str!("reference/sirstv.txt"),
            1.083_182_8e-2,
            1.180_462_374_402_55,
            12.0,
        ),
        (
            "SmLs01, lower",
            include_str!("reference/smls01.txt"),
            1e-2,
            21.0,
            13.0,
        ),
        (
            "SmLs04, average",
            include_str!("reference/smls04.txt"),
            1e-2,
            21.0,
            8.0,
        ),
        (
            "AtmWtAg, average",
            include_str!("reference/atmwtag.txt"),
            2.281_559_329_710_14e-10,
            15.946_733_567_793,
            8.0,
        ),
        (
            "SmLs07, higher",
            include_str!("reference/smls07.txt"),
            1e-2,
            21.0,
            2.0,
        ),
    ];
    for (name, text, inside, f, expected) in sets {
        let found = one_way(text);
        let reached = (digits(found.0, inside), digits(found.1, f));
        println!(
            "{name}: {:.1} digits within, {:.1} of F",
            reached.0, reached.1
        );
        assert!(
            reached.0 >= expected && reached.1 >= expected,
            "{name}: {found:?}, digits {reached:?}"
        );
    }
}

/// Norris, lower level of difficulty.
#[test]
fn the_drift_line_is_that_of_norris() {
    let rows = numbers(include_str!("reference/norris.txt"));
    let (y, x): (Vec<f64>, Vec<f64>) = rows.iter().map(|row| (row[0], row[1])).unzip();
    assert_eq!(x.len(), 36);
    let found = line(&x, &y);
    let squares: f64 = x
        .iter()
        .zip(&y)
        .map(|(x, y)| (y - found.at(*x)).powi(2))
        .sum();
    let certified = [
        ("b0", found.at(0.0), -0.262_323_073_774_029),
        ("b1", found.slope, 1.002_116_818_020_45),
        (
            "residual standard deviation",
            (squares / 34.0).sqrt(),
            0.884_796_396_144_373,
        ),
    ];
    for (name, found, certified) in certified {
        let reached = digits(found, certified);
        println!("Norris {name}: {reached:.1} digits");
        assert!(reached >= 11.5, "{name}: {found}, {reached:.1} digits");
    }
}

/// ENSO: y = b1 + b2·cos(2πx/12) + b3·sin(2πx/12) + the same with periods b4 and b7. Parameters are in units of a
/// spread about the start, as the analysis has them.
struct Enso {
    y: Vec<f64>,
    start: [f64; 9],
    scaled: DVector<f64>,
    /// Derivatives by steps forward, as in the analysis, or exact.
    by_steps: bool,
}

/// A tenth of a period, one of an amplitude: about what would be known beforehand.
const SPREADS: [f64; 9] = [1.0, 1.0, 1.0, 4.0, 1.0, 1.0, 2.5, 1.0, 1.0];

impl Enso {
    fn parameters(&self) -> [f64; 9] {
        std::array::from_fn(|k| self.start[k] + SPREADS[k] * self.scaled[k])
    }

    fn off(&self, b: &[f64; 9]) -> DVector<f64> {
        DVector::from_fn(self.y.len(), |row, _| {
            let x = (row + 1) as f64;
            let wave = |period: f64, cos: f64, sin: f64| {
                let (s, c) = (TAU * x / period).sin_cos();
                cos * c + sin * s
            };
            b[0] + wave(12.0, b[1], b[2]) + wave(b[3], b[4], b[5]) + wave(b[6], b[7], b[8])
                - self.y[row]
        })
    }

    fn exact(&self) -> DMatrix<f64> {
        let b = self.parameters();
        DMatrix::from_fn(self.y.len(), 9, |row, k| {
            let x = (row + 1) as f64;
            let angle = |period: f64| (TAU * x / period).sin_cos();
            let by_period = |period: f64, cos: f64, sin: f64| {
                let (s, c) = angle(period);
                (cos * s - sin * c) * TAU * x / (period * period)
            };
            SPREADS[k]
                * match k {
                    0 => 1.0,
                    1 => angle(12.0).1,
                    2 => angle(12.0).0,
                    3 => by_period(b[3], b[4], b[5]),
                    4 => angle(b[3]).1,
                    5 => angle(b[3]).0,
                    6 => by_period(b[6], b[7], b[8]),
                    7 => angle(b[6]).1,
                    _ => angle(b[6]).0,
                }
        })
    }

    fn stepped(&self) -> DMatrix<f64> {
        let b = self.parameters();
        let base = self.off(&b);
        let columns: Vec<DVector<f64>> = (0..9)
            .map(|k| {
                let mut moved = b;
                moved[k] += STEP * SPREADS[k];
                (self.off(&moved) - &base) / STEP
            })
            .collect();
        DMatrix::from_columns(&columns)
    }
}

impl LeastSquaresProblem<f64, Dyn, Dyn> for Enso {
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;
    type ParameterStorage = Owned<f64, Dyn>;

    fn set_params(&mut self, scaled: &DVector<f64>) {
        self.scaled.copy_from(scaled);
    }

    fn params(&self) -> DVector<f64> {
        self.scaled.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        Some(self.off(&self.parameters()))
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        Some(if self.by_steps {
            self.stepped()
        } else {
            self.exact()
        })
    }
}

/// Certified values of ENSO, and its certified standard deviations (these from memory; scipy.optimize gives the
/// same to eight digits, see `reference/make.py`).
const CERTIFIED: [(f64, f64); 9] = [
    (10.510_749_193, 0.174_888_324_67),
    (3.076_212_808_5, 0.243_100_521_39),
    (0.532_801_382_27, 0.243_546_866_18),
    (44.311_088_700, 0.944_080_259_76),
    (-1.623_142_858_6, 0.280_783_696_11),
    (0.525_544_937_56, 0.480_737_011_19),
    (26.887_614_440, 0.416_129_391_30),
    (0.212_322_884_88, 0.514_600_220_29),
    (1.496_687_041_8, 0.254_344_688_93),
];

/// How near a fit of ENSO came to the certified values.
#[derive(Debug)]
struct Near {
    /// Least digits of parameters, of standard deviations, of the sum of squares.
    parameters: f64,
    deviations: f64,
    squares: f64,
    /// Greatest error of a parameter over its standard deviation.
    off: f64,
}

/// Fit ENSO as the analysis fits, stage after stage until nothing changes.
fn enso(start: [f64; 9], by_steps: bool, little: f64) -> Near {
    let y: Vec<f64> = numbers(include_str!("reference/enso.txt"))
        .into_iter()
        .flatten()
        .collect();
    assert_eq!(y.len(), 168);
    let mut problem = Enso {
        y,
        start,
        scaled: DVector::zeros(9),
        by_steps,
    };
    for _ in 0..12 {
        problem = minimised(problem, little);
    }
    let squares = problem.residuals().unwrap().norm_squared();
    let variance = squares / (168.0 - 9.0);
    let spread = covariance(&problem.jacobian().unwrap()).unwrap();
    let parameters = problem.parameters();
    let mut near = Near {
        parameters: f64::INFINITY,
        deviations: f64::INFINITY,
        squares: digits(squares, 788.539_786_68),
        off: 0.0,
    };
    for (k, (value, deviation)) in CERTIFIED.into_iter().enumerate() {
        let found = SPREADS[k] * (variance * spread[(k, k)]).sqrt();
        near.parameters = near.parameters.min(digits(parameters[k], value));
        near.deviations = near.deviations.min(digits(found, deviation));
        near.off = near.off.max((parameters[k] - value).abs() / deviation);
    }
    near
}

/// NIST's two starts, exact derivatives; 4 to 6 digits are expected of good software at the average level of
/// difficulty.
#[test]
fn the_fit_finds_enso_from_nists_starts() {
    let near = [10.0, 3.0, 0.5, 44.0, -1.5, 0.5, 26.0, -0.1, 1.5];
    let far = [11.0, 3.0, 0.5, 40.0, -0.7, -1.3, 25.0, -0.3, 1.4];
    for start in [near, far] {
        let found = enso(start, false, 1e-12);
        println!("ENSO, exact derivatives: {found:.2?}");
        assert!(found.parameters >= 4.0, "{found:?}");
        assert!(found.deviations >= 4.0 && found.squares >= 8.0, "{found:?}");
    }
}

/// As the analysis runs it: derivatives by steps forward of a thousandth of a spread, stopping at changes of a
/// thousandth. That costs digits, but no parameter may be off by more than a fiftieth of its own standard
/// deviation, far below what an interval is trusted to.
#[test]
fn the_fit_finds_enso_with_the_settings_of_the_analysis() {
    let near = [10.0, 3.0, 0.5, 44.0, -1.5, 0.5, 26.0, -0.1, 1.5];
    let found = enso(near, true, 1e-3);
    println!("ENSO, the analysis' settings: {found:.2?}");
    assert!(found.off <= 0.02, "{found:?}");
    assert!(found.deviations >= 2.0 && found.squares >= 5.0, "{found:?}");
}
