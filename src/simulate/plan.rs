//! Everything that decides a practice capture: the vehicle, what is wrong with it, how it is cranked
//! and how it is recorded. Units: SI, angles in degrees of crank rotation, unless a name says other.

use crate::cranking::answer::SignalKind;
use crate::engine::Engine;

/// One practice capture, before it is computed.
#[derive(Debug, Clone)]
pub struct Plan {
    /// Layout.
    pub engine: Engine,
    /// Geometry and gas exchange, common to all cylinders.
    pub cylinder: CylinderPlan,
    /// Each cylinder's own condition, in firing order.
    pub conditions: Vec<Condition>,
    /// What resists besides the gas, and what stores momentum.
    pub crank: CrankPlan,
    /// Starter motor.
    pub starter: StarterPlan,
    /// Battery and cables.
    pub battery: BatteryPlan,
    /// What happens when.
    pub timing: TimingPlan,
    /// How it is recorded.
    pub recording: RecordingPlan,
    /// Seed of the vehicle.
    pub seed: u64,
    /// Which capture of the vehicle, the first being 0.
    pub again: u32,
}

/// Spreads the captures of a vehicle over the seeds: the golden ratio in 64 bits.
const SPREAD: u64 = 0x9E37_79B9_7F4A_7C15;

impl Plan {
    /// Seed of everything random within the capture.
    pub(super) fn noise(&self) -> u64 {
        self.seed ^ u64::from(self.again).wrapping_mul(SPREAD)
    }
}

/// Geometry and gas exchange.
#[derive(Debug, Clone, Copy)]
pub struct CylinderPlan {
    /// Compression ratio.
    pub compression_ratio: f64,
    /// Rod length over crank radius.
    pub rod_ratio: f64,
    /// Displaced volume of one cylinder, m³.
    pub displaced_m3: f64,
    /// Adiabatic exponent of the closed part.
    pub exponent: f64,
    /// Time in which the charge would take on the walls' temperature, s; infinite for none: a slow crank
    /// loses heat, so that the effective exponent falls with speed and expansion gives back less.
    pub heat_s: f64,
    /// Inlet valve closing, degrees after bottom dead centre.
    pub inlet_closing_deg: f64,
    /// Exhaust valve opening, degrees before bottom dead centre.
    pub exhaust_opening_deg: f64,
    /// Inlet manifold pressure over atmospheric.
    pub manifold: f64,
    /// Atmospheric pressure, Pa.
    pub atmosphere_pa: f64,
    /// Relative scatter of the trapped charge from cycle to cycle.
    pub cycle_scatter: f64,
}

/// One cylinder's condition.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Condition {
    /// Area of the leak, m² (rings always leak a little).
    pub leak_m2: f64,
    /// Trapped charge over that of a sound cylinder.
    pub charge: f64,
    /// Compression ratio over the engine's (carbon, a thicker gasket).
    pub ratio: f64,
}

/// Friction and inertia.
#[derive(Debug, Clone, Copy)]
pub struct CrankPlan {
    /// Crank, flywheel and drive, kg·m².
    pub inertia: f64,
    /// Reciprocating mass of one cylinder times crank radius squared, kg·m².
    pub reciprocating: f64,
    /// Torque that does not depend on speed, N·m.
    pub dry_friction: f64,
    /// Torque per angular speed, N·m·s.
    pub viscous_friction: f64,
    /// Share of the dry friction that comes and goes with each piston's speed.
    pub piston_share: f64,
}

/// How the motor's flux follows its current.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Winding {
    /// Permanent magnets: constant.
    PermanentMagnet,
    /// Series winding: flux saturates towards 1 with this current, A; a small part remains at none.
    Series {
        /// Current at which the iron is two thirds saturated.
        knee_a: f64,
        /// Flux at no current.
        remanence: f64,
    },
}

/// Starter motor, all at the crank.
#[derive(Debug, Clone, Copy)]
pub struct StarterPlan {
    /// Magnet or series.
    pub winding: Winding,
    /// Torque per ampere at full flux, N·m/A (= V·s).
    pub constant: f64,
    /// Winding resistance, ohm.
    pub resistance: f64,
    /// Voltage lost at the brushes, V.
    pub brush_v: f64,
    /// Inductance, H.
    pub inductance: f64,
    /// Armature inertia seen at the crank, kg·m².
    pub inertia: f64,
    /// Armature's own friction seen at the crank, N·m.
    pub friction: f64,
    /// Commutator ripple over current.
    pub ripple: f64,
    /// Commutations per crank turn.
    pub commutations: f64,
}

/// Battery and cables.
#[derive(Debug, Clone, Copy)]
pub struct BatteryPlan {
    /// Rested voltage, V.
    pub rest_v: f64,
    /// Inner resistance up to the posts, ohm.
    pub resistance: f64,
    /// Cables and solenoid, ohm.
    pub cable: f64,
    /// Voltage that the plates lose with the logarithm of the current, V per factor e.
    pub plates_v: f64,
    /// Slow resistance that polarisation adds, ohm.
    pub slow_resistance: f64,
    /// Its time constant, s.
    pub slow_s: f64,
    /// Other loads, A.
    pub other_a: f64,
    /// Swing of other loads as they switch, A.
    pub switching_a: f64,
    /// Rate at which they switch, Hz.
    pub switching_hz: f64,
}

/// What happens when, seconds from the start of the recording.
#[derive(Debug, Clone, Copy)]
pub struct TimingPlan {
    /// Key on; negative if the recording starts late.
    pub key_on_s: f64,
    /// Key released.
    pub key_off_s: f64,
    /// The engine catches.
    pub catches_s: Option<f64>,
    /// End of the recording.
    pub end_s: f64,
    /// Crank angle at key on, degrees after the first cylinder's firing top dead centre.
    pub start_deg: f64,
}

/// How it is recorded.
#[derive(Debug, Clone)]
pub struct RecordingPlan {
    /// What is recorded.
    pub source: SignalKind,
    /// Samples per second.
    pub rate_hz: f64,
    /// Converter bits.
    pub bits: u32,
    /// Positive end of the range, in the signal's unit.
    pub full_scale: f64,
    /// Corner of the AC coupling, where there is one, Hz.
    pub coupling_hz: Option<f64>,
    /// Whether the set-up file tells the corner.
    pub coupling_told: bool,
    /// Whether the set-up file tells bits, range and polarity.
    pub converter_told: bool,
    /// Turned over (clamp backwards, leads exchanged on isolated inputs).
    pub turned_over: bool,
    /// Gain error, 1 = none.
    pub gain: f64,
    /// Offset in the signal's unit.
    pub offset: f64,
    /// Noise, root mean square, in the signal's unit.
    pub noise: f64,
    /// Whether the clamp is around another cable, with none of the starter's current in it.
    pub wrong_cable: bool,
    /// Wiring between the posts and the place of measurement, where other loads share it.
    pub feed: Option<FeedPlan>,
    /// How rows follow each other.
    pub spacing: Spacing,
    /// Bandwidth of sensor and lead, Hz.
    pub bandwidth_hz: f64,
    /// Loose connection: drop-outs per second.
    pub drop_outs_per_s: f64,
    /// Toothed wheel, for crank speed.
    pub wheel: WheelPlan,
    /// Reference channel.
    pub reference: Option<ReferencePlan>,
}

/// How rows follow each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Spacing {
    /// All alike.
    Even,
    /// Each row off its place by up to this share of a step, up to one half.
    Uneven(f64),
}

/// Wiring that other loads share, as behind the fuse of a diagnostic connector.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FeedPlan {
    /// Its resistance, ohm.
    pub resistance: f64,
    /// Current of the loads that stay on, A at rested voltage; falls with the voltage.
    pub steady_a: f64,
    /// Current of a load that switches at random, A.
    pub switching_a: f64,
    /// Times per second that it does.
    pub switching_hz: f64,
    /// Ripple of a pump or fan, A.
    pub ripple_a: f64,
    /// Its frequency, Hz.
    pub ripple_hz: f64,
}

/// A toothed wheel and its sensor.
#[derive(Debug, Clone, PartialEq)]
pub struct WheelPlan {
    /// Positions per turn.
    pub positions: usize,
    /// Position of each gap's first missing tooth and how many are missing, in turning direction from gap 1.
    pub gaps: Vec<(usize, usize)>,
    /// Error of each tooth's place, degrees, root mean square.
    pub error_deg: f64,
    /// From the last tooth before gap 1 to the first place's firing top dead centre, degrees.
    pub before_tdc_deg: f64,
    /// Whether the set-up file tells that, and where the gaps are.
    pub told: bool,
    /// Whether there is one row per change of level instead of rows evenly spaced.
    pub by_change: bool,
}

/// Reference channel.
#[derive(Debug, Clone, Copy)]
pub struct ReferencePlan {
    /// Shape.
    pub shape: ReferenceShape,
    /// 720 or 360.
    pub every_deg: f64,
    /// Cylinder whose event it is.
    pub cylinder: usize,
    /// Place before top dead centre that the set-up file tells, degrees.
    pub told_before_deg: f64,
    /// True place, degrees.
    pub true_before_deg: f64,
    /// Scatter of the event from cycle to cycle, degrees.
    pub scatter_deg: f64,
}

/// Shapes of a reference event.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReferenceShape {
    /// A short square pulse that rises at the event.
    TriggerRising,
    /// A level that falls at the event and stays for some milliseconds.
    TriggerFalling,
    /// A spike with ringing at the event.
    Spike,
    /// An injector's or coil's earthed side: earthed at the event, a spike upwards when it is let go.
    Injector,
    /// A cam sensor's level that falls at the event and rises half a turn later.
    Cam,
}
