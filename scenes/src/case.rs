//! What a drawn scene is meant to be, and seeds that keep tuning and reporting apart.

use std::fmt;

/// Declares members with their keys, as in file names; what is said about a member is its documentation.
macro_rules! named {
    ($(#[doc = $top:literal])+ pub enum $name:ident { $(#[doc = $doc:literal] $member:ident = $key:literal;)+ }) => {
        $(#[doc = $top])+
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        pub enum $name { $(#[doc = $doc] $member,)+ }

        impl $name {
            /// Key, as in file names.
            #[must_use]
            pub const fn key(self) -> &'static str {
                match self { $(Self::$member => $key,)+ }
            }

            /// What it is, as a sentence; the same text as its documentation.
            #[must_use]
            pub const fn about(self) -> &'static str {
                match self { $(Self::$member => $doc.trim_ascii(),)+ }
            }
        }
    };
}

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

named! {
    /// A circumstance under which a check must not judge (vehicle.md section 1.4).
    pub enum Gate {
        /// The load that would make the heat is off or too low.
        LoadOff = "load-off";
        /// The load has not been on for long enough.
        LoadShort = "load-short";
        /// Sun on one side.
        Sun = "sun";
        /// Wet surfaces.
        Wet = "wet";
        /// Bare metal without a patch.
        BareMetal = "bare-metal";
        /// The feature is smaller than three pixels.
        SmallTarget = "small-target";
        /// A shutter event with a step of the offset between the compared frames.
        ShutterStep = "shutter-step";
        /// The part has not stood long enough to take the air's temperature.
        NoSoak = "no-soak";
        /// Too long after the stop.
        TooLate = "too-late";
        /// Compared parts have different finishes.
        FinishDiffers = "finish-differs";
        /// Wind or a fan on the parts.
        Wind = "wind";
        /// The instrument has just been switched on.
        ColdInstrument = "cold-instrument";
        /// Seen at more than 60° from straight on.
        Grazing = "grazing";
    }
}

named! {
    /// Something on a sound vehicle that looks like a fault.
    pub enum Decoy {
        /// A person mirrored in the surface, who walks on.
        SlidingReflection = "sliding-reflection";
        /// The warm print of a hand or body, which fades.
        BodyPrint = "body-print";
        /// Drops of water.
        Water = "water";
        /// A hot thing beside the part, which warms one edge of it.
        WarmNeighbor = "warm-neighbor";
        /// A glossy label of lower emissivity.
        LabelEdge = "label-edge";
        /// The head of a nail: a small mirror.
        Nail = "nail";
        /// An ordinary difference at the edge of what sound vehicles have.
        Tolerance = "tolerance";
    }
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
