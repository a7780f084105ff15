//! The closed vocabularies of a finding.

use crate::codes::codes;

codes! {
    /// How serious a finding is; words after NETA table 100.18 and ASTM E1934.
    pub enum Grade {
        /// No exception found within the stated coverage and limits.
        None = 1, "none";
        /// Possible deficiency: look closer.
        Possible = 2, "possible";
        /// Probable deficiency: confirm, then repair.
        Probable = 3, "probable";
        /// Major deficiency: act before further use.
        Major = 4, "major";
        /// Not assessable: a gate failed.
        NotAssessable = 5, "not-assessable";
    }
}

codes! {
    /// What was seen.
    pub enum Symptom {
        /// No thermal indication.
        NothingSeen = 1, "nothing-seen";
        /// Nothing can be said; see the gates.
        NotAssessable = 2, "not-assessable";
        /// One side is hotter than the other.
        SideHotter = 3, "side-hotter";
        /// A hub is hotter than a hub should be, or than it was when it was sound.
        HubHot = 9, "hub-hot";
        /// A tread is hottest in its middle.
        TreadCenterHotter = 10, "tread-center-hotter";
        /// A tread is hottest at both of its edges.
        TreadEdgesHotter = 11, "tread-edges-hotter";
        /// A tread is hotter at one edge, more than its axle mate.
        TreadTilted = 12, "tread-tilted";
        /// A tread is hotter in one part of its circumference.
        TreadSectorHotter = 13, "tread-sector-hotter";
        /// A persistent spot is colder than its surroundings.
        ColdSpot = 4, "cold-spot";
        /// A joint is hotter than its twin.
        JointHotter = 5, "joint-hotter";
        /// A joint and its cable are both warm.
        EvenlyWarm = 6, "evenly-warm";
        /// A spot was seen that did not stay.
        FleetingSpot = 7, "fleeting-spot";
        /// A spot stays when the pressure is let out.
        SpotWithoutPressure = 8, "spot-without-pressure";
        /// A persistent spot is warmer than its surroundings.
        WarmSpot = 14, "warm-spot";
    }
}

codes! {
    /// What a number in the evidence measures.
    pub enum Metric {
        /// Object temperature.
        Temperature = 1, "temperature";
        /// Rise over air.
        Rise = 2, "rise";
        /// Ratio of the rises of the hotter and the colder side.
        RiseRatio = 3, "rise-ratio";
        /// Difference between the sides; of brakes and hubs corrected for cooling since the stop.
        SideDifference = 4, "side-difference";
        /// Hub minus hat of the rotor: positive where the heat comes from the middle.
        HubOverHat = 5, "hub-over-hat";
        /// Rise over air beyond the rise that was stated for a sound part.
        OverBaseline = 6, "over-baseline";
        /// Depth of a cold spot below its surroundings, as the optics show it.
        SpotDepth = 10, "spot-depth";
        /// Time over which the spot was there.
        Persistence = 11, "persistence";
        /// Width of the spot.
        SpotSize = 12, "spot-size";
        /// Smallest spot that would have been noticed.
        SmallestDetectable = 13, "smallest-detectable";
        /// Height of a warm spot above its surroundings, as the optics show it.
        SpotHeight = 19, "spot-height";
        /// Least pressure loss that can make a spot of this depth and width.
        LossAtLeast = 7, "loss-at-least";
        /// Greatest pressure loss that the gauge readings since filling allow.
        LossAtMost = 8, "loss-at-most";
        /// What the surroundings of a spot have more of it on one side than elsewhere, as the tail of a jet does.
        Tail = 9, "tail";
        /// Middle of a tread over the mean of its edges.
        CenterOverEdges = 14, "center-over-edges";
        /// Cooler edge of a tread over its middle.
        EdgesOverCenter = 15, "edges-over-center";
        /// Inner edge of a tread minus its outer edge.
        Tilt = 16, "tilt";
        /// Difference between the tilts of the two tires of an axle.
        TiltDifference = 17, "tilt-difference";
        /// What one part of a tread's circumference has over another, beyond what the axle mate shows meanwhile.
        SectorExcess = 18, "sector-excess";
        /// Difference between two like joints under the same load, hotter minus cooler.
        LikeDifference = 20, "like-difference";
        /// Rise over air, projected to the full current of the circuit.
        ProjectedRise = 21, "projected-rise";
        /// Difference between two like joints, projected to the full current of the circuit.
        ProjectedDifference = 22, "projected-difference";
        /// Drop along the cable, from near the joint to well away from it.
        CableDrop = 23, "cable-drop";
        /// Share of the full current that flowed.
        LoadShare = 24, "load-share";
        /// Rise of a cable over air, projected to the full current of the circuit.
        CableRise = 25, "cable-rise";
    }
}

/// Unit of a metric.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum MetricUnit {
    /// Absolute temperature, K; shown in °C or °F.
    Kelvin,
    /// Temperature difference, K.
    KelvinDifference,
    /// A ratio.
    One,
    /// Seconds.
    Seconds,
    /// Millimeters.
    Millimeters,
    /// Kilopascals per day.
    KilopascalsPerDay,
}

impl Metric {
    /// Unit of the value and its uncertainty.
    #[must_use]
    pub const fn unit(self) -> MetricUnit {
        match self {
            Self::Temperature => MetricUnit::Kelvin,
            Self::RiseRatio | Self::LoadShare => MetricUnit::One,
            Self::Persistence => MetricUnit::Seconds,
            Self::SpotSize => MetricUnit::Millimeters,
            Self::LossAtLeast | Self::LossAtMost => MetricUnit::KilopascalsPerDay,
            Self::Rise
            | Self::SideDifference
            | Self::HubOverHat
            | Self::OverBaseline
            | Self::CenterOverEdges
            | Self::EdgesOverCenter
            | Self::Tilt
            | Self::TiltDifference
            | Self::SectorExcess
            | Self::SpotDepth
            | Self::SpotHeight
            | Self::Tail
            | Self::SmallestDetectable
            | Self::LikeDifference
            | Self::ProjectedRise
            | Self::ProjectedDifference
            | Self::CableDrop
            | Self::CableRise => MetricUnit::KelvinDifference,
        }
    }
}

codes! {
    /// A reason why a picture may mean nothing.
    pub enum Gate {
        /// A required shape was not placed, or its picture was not fed.
        ShapeMissing = 1, "shape-missing";
        /// A required condition was not stated.
        ConditionMissing = 2, "condition-missing";
        /// Sun on the parts.
        Sun = 3, "sun";
        /// Wet parts.
        Wet = 4, "wet";
        /// Wind or a fan on the parts.
        Wind = 5, "wind";
        /// Bare metal, which shows reflections instead of its temperature.
        BareMetal = 6, "bare-metal";
        /// Compared parts have different finishes.
        FinishDiffers = 7, "finish-differs";
        /// The instrument is not warmed up.
        InstrumentCold = 8, "instrument-cold";
        /// The shutter closed between frames that are compared.
        ShutterBetween = 9, "shutter-between";
        /// A shape is under three pixels across: detected, not measured.
        TooSmall = 10, "too-small";
        /// Counts in a shape are saturated or dead.
        InvalidPixels = 11, "invalid-pixels";
        /// Too few frames or too short a time.
        TooShort = 12, "too-short";
        /// The counts in a shape mean no temperature in this scene.
        NoTemperature = 13, "no-temperature";
        /// The parts are hardly warmer than the air: the load was not on.
        RiseTooSmall = 20, "rise-too-small";
        /// Whether the brakes were used before the pictures is not clear.
        BrakeUseUnclear = 21, "brake-use-unclear";
        /// Too long since the stop.
        TooLate = 22, "too-late";
        /// The rims contradict the rotors.
        RimContradicts = 23, "rim-contradicts";
        /// The drive was too short to warm the parts.
        DriveTooShort = 24, "drive-too-short";
        /// The treads are hardly warmer than the air.
        TreadTooCool = 25, "tread-too-cool";
        /// The hubs are hardly warmer than the air.
        HubTooCool = 26, "hub-too-cool";
        /// The tire has not taken the temperature of the air.
        SoakTooShort = 30, "soak-too-short";
        /// Air was put in too recently and may be warm.
        JustInflated = 31, "just-inflated";
        /// The tire holds too little pressure for a jet.
        PressureTooLow = 32, "pressure-too-low";
        /// The search for a cold spot was not made.
        NotSearched = 33, "not-searched";
        /// A spot lies too near the border of the picture to be compared with its surroundings.
        AtBorder = 34, "at-border";
        /// Warm air was stated, but none was put in lately.
        WarmAirUnclear = 35, "warm-air-unclear";
        /// The current is too low to judge.
        LoadTooLow = 40, "load-too-low";
        /// The load has not been on long enough.
        LoadTooShort = 41, "load-too-short";
    }
}

codes! {
    /// A suspected cause.
    pub enum Cause {
        /// Brake that does not release: piston, slide pins, hose or pedal free play.
        BrakeDrags = 1, "brake-drags";
        /// Parking brake that binds.
        ParkingBrakeBinds = 2, "parking-brake-binds";
        /// Brake that does less than its share.
        BrakeWeak = 3, "brake-weak";
        /// Wheel bearing.
        WheelBearing = 4, "wheel-bearing";
        /// Uneven pads, rotors or shields.
        UnevenParts = 5, "uneven-parts";
        /// Too much pressure in the tire.
        Overinflation = 6, "overinflation";
        /// Too little pressure in the tire, or too much load on it.
        Underinflation = 7, "underinflation";
        /// Wheel out of alignment, or a bent axle part.
        Misalignment = 8, "misalignment";
        /// Belt of the tire shifted or separating.
        BeltSeparation = 9, "belt-separation";
        /// Air leaving through the tread or sidewall.
        LeakTread = 10, "leak-tread";
        /// Air leaving at the bead.
        LeakBead = 11, "leak-bead";
        /// Air leaving at the valve.
        LeakValve = 12, "leak-valve";
        /// Water, or an object that reflects something cold.
        WaterOrReflection = 13, "water-or-reflection";
        /// Uneven load, a load shifted to one side, or one side worked harder by the road.
        UnevenWork = 14, "uneven-work";
        /// A warm object or print, or something that reflects one.
        WarmthOrReflection = 15, "warmth-or-reflection";
        /// High resistance in the joint.
        JointResistance = 20, "joint-resistance";
        /// More current than the cable is made for.
        Overload = 21, "overload";
        /// Heat from a neighboring part.
        NeighborHeat = 22, "neighbor-heat";
        /// The compared joints carry different currents.
        UnequalLoad = 23, "unequal-load";
    }
}

codes! {
    /// What to test next.
    pub enum NextTest {
        /// Turn both wheels by hand and compare.
        SpinWheels = 1, "spin-wheels";
        /// Open the bleeder and see whether the drag goes.
        OpenBleeder = 2, "open-bleeder";
        /// Check slide pins, piston retraction and pad thickness.
        InspectCaliper = 3, "inspect-caliper";
        /// Measure brake force on rollers.
        RollerTest = 4, "roller-test";
        /// Repeat the drive without braking.
        RepeatUnbraked = 5, "repeat-unbraked";
        /// Rock the wheel at top and bottom and feel for play.
        RockWheel = 6, "rock-wheel";
        /// Listen while the load moves from one side to the other.
        ListenUnderLoad = 7, "listen-under-load";
        /// Gauge all tires of the vehicle, cold.
        GaugePressure = 8, "gauge-pressure";
        /// Measure the tread's depth across its width on both tires.
        TreadDepth = 9, "tread-depth";
        /// Gauge the pressure twice, with temperature correction.
        GaugeDrop = 10, "gauge-drop";
        /// Soap solution, after all pictures are taken.
        SoapSolution = 11, "soap-solution";
        /// Immerse the wheel.
        Immersion = 12, "immersion";
        /// Let the pressure out and see whether the spot goes.
        ReleasePressure = 13, "release-pressure";
        /// Dismount the tire and inspect the inside.
        DismountTire = 14, "dismount-tire";
        /// Measure wheel alignment.
        Alignment = 15, "alignment";
        /// Measure runout and look for a bulge with the wheel free to turn.
        Runout = 16, "runout";
        /// Turn both wheels by a third of a turn and repeat the pictures.
        TurnAndRepeat = 17, "turn-and-repeat";
        /// Voltage drop across the joint under load.
        VoltageDrop = 20, "voltage-drop";
        /// Clean and tighten to specification, then repeat the picture.
        CleanAndRepeat = 21, "clean-and-repeat";
        /// Clamp both circuits and compare the currents.
        CompareCurrents = 22, "compare-currents";
        /// Repeat after setting right what the gates name.
        RepeatProperly = 30, "repeat-properly";
    }
}

codes! {
    /// What can hurt.
    pub enum Caution {
        /// Local codes, the employer's procedures, the maker's instructions and licensed practice come first.
        LocalRules = 1, "local-rules";
        /// Hot parts.
        HotParts = 2, "hot-parts";
        /// Lifting.
        Lifting = 3, "lifting";
        /// Brake dust.
        BrakeDust = 4, "brake-dust";
        /// A vehicle with suspected brake or wheel trouble.
        DoNotDrive = 5, "do-not-drive";
        /// Hot rotors and water.
        NoWaterOnRotors = 6, "no-water-on-rotors";
        /// Inflation.
        Inflation = 10, "inflation";
        /// A damaged tire.
        DamagedTire = 11, "damaged-tire";
        /// A wheel that may roll.
        Chock = 12, "chock";
        /// A raised wheel that is driven.
        DrivenWheel = 13, "driven-wheel";
        /// Battery gas.
        BatteryGas = 20, "battery-gas";
        /// Short circuits and arcs.
        Arcs = 21, "arcs";
        /// High-voltage parts.
        HighVoltage = 22, "high-voltage";
        /// Belts, fans and parts that start by themselves.
        MovingParts = 23, "moving-parts";
    }
}

codes! {
    /// What has to be said along with a finding.
    pub enum Note {
        /// Thermography alone is not a diagnosis.
        NotADiagnosis = 1, "not-a-diagnosis";
        /// No thermal indication does not exclude a leak.
        LeakNotExcluded = 10, "leak-not-excluded";
        /// The spot may be something else until it goes with the pressure.
        SpotUnconfirmed = 11, "spot-unconfirmed";
        /// A warm spot may be something else until it goes with the pressure.
        WarmSpotUnconfirmed = 12, "warm-spot-unconfirmed";
        /// Permitted drag alone can make a difference of 20 to 40 K after a fast road.
        DragTolerance = 20, "drag-tolerance";
        /// After braking, the hot side may be the one that works.
        EitherSide = 21, "either-side";
        /// Regenerative braking hides friction heat.
        Regeneration = 22, "regeneration";
        /// A sound picture does not clear a noisy bearing.
        BearingNotExcluded = 23, "bearing-not-excluded";
        /// A new or freshly greased bearing runs warm for hours.
        NewBearing = 24, "new-bearing";
        /// A hub is warmed by its brake as well.
        HubWarmedByBrake = 25, "hub-warmed-by-brake";
        /// Straight roads make little heat in a tread.
        LittleTreadHeat = 26, "little-tread-heat";
        /// No turned pictures, so a sector was not looked for.
        NotTurned = 27, "not-turned";
        /// The rim is a sink for the heat of the brake.
        RimTakesHeat = 28, "rim-takes-heat";
        /// The front axle does most of the braking.
        FrontAxleHotter = 29, "front-axle-hotter";
        /// Only the pictured parts of the turn were compared.
        PartOfTurnOnly = 33, "part-of-turn-only";
        /// The bands are written for building and plant equipment.
        PlantBands = 30, "plant-bands";
        /// An axle was too cool to be compared.
        AxleTooCool = 32, "axle-too-cool";
        /// The value was projected to full current.
        Projected = 31, "projected";
        /// The measurement cannot decide between two grades.
        Undecided = 40, "undecided";
    }
}
