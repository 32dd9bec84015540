//! Captures that cannot carry a verdict, each spoiled in one way, and the check that has to say so.

use super::draw::within;
use super::plan::{Plan, Spacing};
use crate::cranking::answer::{CheckName, SignalKind};

use rand::Rng;

/// One way to be unfit.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "kebab-case")]
pub enum Spoil {
    /// Range or clamp too small.
    Clipped,
    /// The key let go too early.
    Short,
    /// A converter with a few steps per ripple.
    Coarse,
    /// A dirty contact.
    Noisy,
    /// A lead that lets go.
    Loose,
    /// The clamp around another cable, the lead on a post that does not move.
    WrongCable,
    /// The engine caught at once.
    Running,
    /// Hardly any samples.
    Sparse,
    /// A channel that stands still.
    Dead,
}

/// Root mean square of a ripple over its height from foot to top, about.
const RMS: f64 = 0.33;

/// All of them.
pub const ALL: [Spoil; 9] = [
    Spoil::Clipped,
    Spoil::Short,
    Spoil::Coarse,
    Spoil::Noisy,
    Spoil::Loose,
    Spoil::WrongCable,
    Spoil::Running,
    Spoil::Sparse,
    Spoil::Dead,
];

impl Spoil {
    /// The check that has to fail. That an engine ran, only events of a reference tell; without them there is too
    /// little of cranking.
    #[must_use]
    pub fn check(self, has_reference: bool) -> CheckName {
        match self {
            Self::Clipped => CheckName::Clipped,
            Self::Short => CheckName::TooFewCycles,
            Self::Coarse => CheckName::ConverterSteps,
            Self::Noisy => CheckName::Noise,
            Self::Loose => CheckName::LooseConnection,
            Self::WrongCable => CheckName::NoRipple,
            Self::Running if has_reference => CheckName::EngineRunning,
            Self::Running => CheckName::TooFewCycles,
            Self::Sparse => CheckName::Undersampled,
            Self::Dead => CheckName::NoSignal,
        }
    }

    /// The one of that name.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        ALL.into_iter().find(|spoil| spoil.name() == name)
    }

    /// Its name, as an option writes it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Clipped => "clipped",
            Self::Short => "short",
            Self::Coarse => "coarse",
            Self::Noisy => "noisy",
            Self::Loose => "loose",
            Self::WrongCable => "wrong-cable",
            Self::Running => "running",
            Self::Sparse => "sparse",
            Self::Dead => "dead",
        }
    }

    /// Spoil a plan. `swing` is the ripple from foot to top and `mean` the mean level while cranking, in the
    /// signal's unit; `rpm` the cranking speed.
    pub fn spoil(self, plan: &mut Plan, random: &mut impl Rng, swing: f64, mean: f64, rpm: f64) {
        let cycle_s = 120.0 / rpm;
        let firings = plan.engine.cylinders() as f64;
        let recording = &mut plan.recording;
        match self {
            Self::Clipped => {
                // the range ends within the ripple
                let inside = within(random, 0.3, 0.75) * swing;
                recording.full_scale = if recording.coupling_hz.is_some() {
                    0.5 * inside
                } else {
                    (mean.abs() - 0.5 * swing + inside).max(0.1 * swing)
                };
                recording.offset = 0.0;
            }
            Self::Short => {
                let crank = plan.timing.key_on_s.max(0.0);
                plan.timing.key_off_s = crank + 0.35 + within(random, 0.5, 2.3) * cycle_s;
                plan.timing.end_s = plan.timing.key_off_s;
            }
            Self::Coarse => {
                // a step between a quarter and the whole of the ripple
                let steps = within(random, 1.0, 4.0);
                recording.full_scale = recording.full_scale.max(1.3 * (mean.abs() + swing));
                let bits = (2.0 * recording.full_scale * steps / swing).log2().floor();
                recording.bits = (bits as u32).clamp(2, 16);
                recording.full_scale = 0.5 * swing / steps * f64::from(1u32 << recording.bits);
            }
            Self::Noisy => {
                // white noise averages out: what is left in the mean cycle decides, 20 to 40 % of the swing
                let seconds = plan.timing.key_off_s - plan.timing.key_on_s.max(0.0);
                let averaged = recording.rate_hz * seconds / (2.0 * (4.0 * firings).max(16.0));
                recording.noise = RMS * swing * within(random, 0.2, 0.4) * averaged.sqrt();
                recording.full_scale = recording.full_scale.max(4.0 * recording.noise + mean.abs());
            }
            Self::Loose => recording.drop_outs_per_s = within(random, 2.0, 8.0),
            Self::WrongCable => recording.wrong_cable = true,
            Self::Running => plan.timing.catches_s = Some(plan.timing.key_on_s.max(0.0) + 0.4),
            Self::Sparse => {
                recording.rate_hz = firings / cycle_s * within(random, 1.3, 4.0);
                recording.spacing = Spacing::Even;
            }
            Self::Dead => {
                recording.gain = 0.0;
                recording.wheel.by_change = false;
                recording.noise = 0.0;
            }
        }
    }

    /// Whether it can happen to a signal.
    #[must_use]
    pub fn suits(self, source: SignalKind) -> bool {
        match source {
            SignalKind::CrankSpeed => matches!(self, Self::Short | Self::Dead),
            _ => true,
        }
    }
}
