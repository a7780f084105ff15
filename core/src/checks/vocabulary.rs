//! The words shared by checks: what is examined, where it is placed, in which picture, under which conditions.

use crate::codes::codes;

codes! {
    /// What a placed shape covers.
    pub enum Role {
        /// Swept face of a brake rotor.
        Rotor = 1, "rotor";
        /// Painted body of a brake caliper.
        Caliper = 2, "caliper";
        /// Lacquered rim or wheel disc near the hub.
        Rim = 3, "rim";
        /// Lacquered cap, nut or nut recess in the middle of a wheel.
        HubCenter = 4, "hub-center";
        /// Hat of a brake rotor, between hub and swept face.
        RotorHat = 5, "rotor-hat";
        /// Tire tread: an area to search, or the whole tire.
        Tread = 10, "tread";
        /// Joint of tire bead and rim, as an area to search.
        Bead = 11, "bead";
        /// Valve stem and its base, as an area to search.
        Valve = 12, "valve";
        /// A suspected cold or hot spot.
        Suspect = 13, "suspect";
        /// Sound surface around the suspected spot, the reference for it.
        Surround = 14, "surround";
        /// Third of the tread toward the vehicle's middle.
        TreadInner = 15, "tread-inner";
        /// Middle third of the tread.
        TreadCenter = 16, "tread-center";
        /// Third of the tread away from the vehicle's middle.
        TreadOuter = 17, "tread-outer";
        /// Sidewall of a tire, as an area to search.
        Sidewall = 18, "sidewall";
        /// Electrical joint under test: taped lug, clamp or stud.
        Joint = 20, "joint";
        /// Like joint that carries the same current.
        Twin = 21, "twin";
        /// Insulated cable 10 to 20 mm from the joint.
        CableNear = 22, "cable-near";
        /// The same cable well away from the joint.
        CableFar = 23, "cable-far";
    }
}

codes! {
    /// Which picture of a check a frame belongs to.
    pub enum View {
        /// The only picture of the check.
        Single = 1, "single";
        /// Left side of the vehicle, as seen by its driver; of its front axle where two axles are looked at.
        Left = 2, "left";
        /// Right side of the vehicle, as seen by its driver; of its front axle where two axles are looked at.
        Right = 3, "right";
        /// The left wheel once more, turned by about a third of a turn.
        LeftTurned = 4, "left-turned";
        /// The right wheel once more, turned by about a third of a turn.
        RightTurned = 5, "right-turned";
        /// Left side of the rear axle.
        RearLeft = 6, "rear-left";
        /// Right side of the rear axle.
        RearRight = 7, "rear-right";
    }
}

codes! {
    /// A circumstance that the person at the vehicle states.
    pub enum Condition {
        /// Air temperature at the part.
        AirTemperature = 1, "air-temperature";
        /// The parts have been out of the sun for at least 30 minutes.
        Shaded = 2, "shaded";
        /// The parts are dry.
        Dry = 3, "dry";
        /// No wind or fan above about 1 m/s on the parts.
        StillAir = 4, "still-air";
        /// Compared parts have the same finish.
        SameFinish = 5, "same-finish";
        /// The instrument has been on for at least five minutes.
        InstrumentWarm = 6, "instrument-warm";
        /// Time from the stop of the vehicle to the first frame.
        SinceStop = 10, "since-stop";
        /// Repeated moderate stops were made just before the pictures.
        BrakesUsed = 11, "brakes-used";
        /// The brakes were left unused for the last five minutes or more of the drive.
        BrakesUnused = 12, "brakes-unused";
        /// Length of the steady drive before the stop.
        DriveTime = 13, "drive-time";
        /// Rise over air that the left part had at the stop of a like drive when it was sound.
        BaselineLeft = 14, "baseline-left";
        /// Rise over air that the right part had at the stop of a like drive when it was sound.
        BaselineRight = 15, "baseline-right";
        /// Time the tire has stood in the air of the bay.
        SoakTime = 20, "soak-time";
        /// Time since air was last put into the tire.
        SinceInflation = 21, "since-inflation";
        /// Gauge pressure in the tire.
        Pressure = 22, "pressure";
        /// The spot went away within a minute of letting the pressure out.
        GoneAfterRelease = 23, "gone-after-release";
        /// The searched surface is bare metal.
        BareMetal = 24, "bare-metal";
        /// Distance from the instrument to the part.
        Distance = 25, "distance";
        /// Inner volume of the tire.
        TireVolume = 26, "tire-volume";
        /// The air in the tire is clearly warmer than the tire: just put in by a warm compressor, the tire itself soaked.
        WarmAir = 27, "warm-air";
        /// Gauge pressure when the tire had been filled, as long ago as air was last put into it.
        FilledPressure = 28, "filled-pressure";
        /// Current through the joint during the pictures, measured with a clamp.
        Current = 30, "current";
        /// The largest current the circuit carries in service.
        FullCurrent = 31, "full-current";
        /// Time the load has been on.
        LoadTime = 32, "load-time";
        /// The joint is seen on tape, matte paint or insulation, not on bare metal.
        MatteSurface = 33, "matte-surface";
    }
}

/// Kind and unit of a stated condition.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum Unit {
    /// Yes or no; stored as 1 or 0.
    YesNo,
    /// A temperature; stated in °C in recordings, stored in millikelvin.
    Temperature,
    /// A temperature difference; stated in K, stored in mK.
    KelvinDifference,
    /// A duration; stated in s, stored in ms.
    Seconds,
    /// A current; stated in A, stored in mA.
    Amperes,
    /// A gauge pressure; stated in kPa, stored in Pa.
    Kilopascals,
    /// A distance; stated in m, stored in mm.
    Meters,
    /// A volume; stated in L, stored in mL.
    Liters,
}

impl Unit {
    /// Unit symbol as used in recordings and reports; empty for yes/no.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::YesNo => "",
            Self::Temperature => "°C",
            Self::KelvinDifference => "K",
            Self::Seconds => "s",
            Self::Amperes => "A",
            Self::Kilopascals => "kPa",
            Self::Meters => "m",
            Self::Liters => "L",
        }
    }
}

impl Condition {
    /// Kind and unit in which the condition is stated.
    #[must_use]
    pub const fn unit(self) -> Unit {
        match self {
            Self::AirTemperature => Unit::Temperature,
            Self::BaselineLeft | Self::BaselineRight => Unit::KelvinDifference,
            Self::SinceStop | Self::DriveTime | Self::SoakTime | Self::SinceInflation | Self::LoadTime => Unit::Seconds,
            Self::Current | Self::FullCurrent => Unit::Amperes,
            Self::Pressure | Self::FilledPressure => Unit::Kilopascals,
            Self::Distance => Unit::Meters,
            Self::TireVolume => Unit::Liters,
            Self::Shaded
            | Self::Dry
            | Self::StillAir
            | Self::SameFinish
            | Self::InstrumentWarm
            | Self::BrakesUsed
            | Self::BrakesUnused
            | Self::GoneAfterRelease
            | Self::BareMetal
            | Self::WarmAir
            | Self::MatteSurface => Unit::YesNo,
        }
    }
}
