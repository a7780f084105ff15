//! What a drawn scene is meant to be, and seeds that keep tuning and reporting apart.

use std::fmt;

/// How far a fault has gone. What it means in numbers is each check's own; all three can be resolved.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Severity {
    /// Just above what the physics and the rules of vehicle.md let one see ("watch" in its section 7).
    Slight,
    /// Well above ("probable").
    Clear,
    /// Beyond the last limit ("major").
    Grave,
}

/// A circumstance under which a check must not judge (vehicle.md section 1.4).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Gate {
    /// The load that would make the heat is off or too low.
    LoadOff,
    /// The load has not been on for long enough.
    LoadShort,
    /// Sun on one side.
    Sun,
    /// Wet surfaces.
    Wet,
    /// Bare metal without a patch.
    BareMetal,
    /// The feature is smaller than three pixels.
    SmallTarget,
    /// A shutter event with a step of the offset between the compared frames.
    ShutterStep,
    /// The part has not stood long enough to take the air's temperature.
    NoSoak,
    /// Too long after the stop.
    TooLate,
    /// Compared parts have different finishes.
    FinishDiffers,
    /// Wind or a fan on the parts.
    Wind,
    /// The instrument has just been switched on.
    ColdInstrument,
    /// Seen at more than 60° from straight on.
    Grazing,
}

/// Something on a sound vehicle that looks like a fault.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Decoy {
    /// A person mirrored in the surface, who walks on.
    SlidingReflection,
    /// The warm print of a hand or body, which fades.
    BodyPrint,
    /// Drops of water.
    Water,
    /// A hot thing beside the part, which warms one edge of it.
    WarmNeighbor,
    /// A glossy label of lower emissivity.
    LabelEdge,
    /// The head of a nail: a small mirror.
    Nail,
    /// An ordinary difference at the edge of what sound vehicles have.
    Tolerance,
}

/// What a scene is meant to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Case {
    /// Sound, nothing odd.
    Normal,
    /// A fault that can be seen.
    Fault {
        /// Its id, one of the check's.
        fault: &'static str,
        /// How far it has gone.
        severity: Severity,
    },
    /// A fault of any degree from invisible to grave, for the curve of detection against severity. Not among the cases of
    /// a check: what must be found is not known beforehand.
    Sweep {
        /// Its id, one of the check's.
        fault: &'static str,
    },
    /// The check's first fault, too small for physics to show.
    Unresolvable,
    /// Not to be judged; with or without the check's first fault, by the seed.
    Gated(Gate),
    /// Sound, with something that looks like a fault.
    Decoy(Decoy),
}

impl Severity {
    /// All, ascending.
    pub const ALL: [Self; 3] = [Self::Slight, Self::Clear, Self::Grave];

    /// Key, as in file names.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Slight => "slight",
            Self::Clear => "clear",
            Self::Grave => "grave",
        }
    }
}

impl Gate {
    /// Key, as in file names.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::LoadOff => "load-off",
            Self::LoadShort => "load-short",
            Self::Sun => "sun",
            Self::Wet => "wet",
            Self::BareMetal => "bare-metal",
            Self::SmallTarget => "small-target",
            Self::ShutterStep => "shutter-step",
            Self::NoSoak => "no-soak",
            Self::TooLate => "too-late",
            Self::FinishDiffers => "finish-differs",
            Self::Wind => "wind",
            Self::ColdInstrument => "cold-instrument",
            Self::Grazing => "grazing",
        }
    }
}

impl Decoy {
    /// Key, as in file names.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::SlidingReflection => "sliding-reflection",
            Self::BodyPrint => "body-print",
            Self::Water => "water",
            Self::WarmNeighbor => "warm-neighbor",
            Self::LabelEdge => "label-edge",
            Self::Nail => "nail",
            Self::Tolerance => "tolerance",
        }
    }
}

impl Case {
    /// True if nothing is wrong with the vehicle, whatever the picture looks like.
    #[must_use]
    pub const fn is_sound(self) -> bool {
        matches!(self, Self::Normal | Self::Decoy(_))
    }
}

impl fmt::Display for Case {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Normal => f.write_str("normal"),
            Self::Fault { fault, severity } => write!(f, "fault {fault} {}", severity.key()),
            Self::Sweep { fault } => write!(f, "sweep {fault}"),
            Self::Unresolvable => f.write_str("unresolvable"),
            Self::Gated(gate) => write!(f, "gated {}", gate.key()),
            Self::Decoy(decoy) => write!(f, "decoy {}", decoy.key()),
        }
    }
}

/// Which seeds are drawn: those that limits may be tuned on, or those that results are reported from.
///
/// The two cannot meet: tuning seeds are even, reporting seeds odd.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum SeedSet {
    /// For choosing limits.
    Tuning,
    /// For numbers that are published.
    Reporting,
}

impl SeedSet {
    /// The seed with an index.
    #[must_use]
    pub const fn seed(self, index: u32) -> u64 {
        let low = match self {
            Self::Tuning => 0,
            Self::Reporting => 1,
        };
        ((index as u64) << 1) | low
    }
}
