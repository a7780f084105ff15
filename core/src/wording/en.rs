//! English.

use super::packing::packed;
use super::{Language, Phrase, Text, fragments};
use crate::checks::{Condition, Kind, Role, Unit, View};
use crate::finding::{Cause, Caution, Gate, Grade, Metric, NextTest, Note, Symptom};

/// US English.
pub static ENGLISH: Language = Language {
    key: "en",
    kind,
    set_up,
    grade,
    symptom,
    role,
    view,
    condition,
    metric,
    gate,
    cause,
    test,
    caution,
    note,
    tag: |tag| Text::plain(tag.words()),
    unit: Unit::symbol,
    phrase,
};

packed! { fragments::ENGLISH;

fn kind(kind: Kind) -> Text {
    match kind {
        Kind::TireLeak => "Tire air leak",
        Kind::Brake => "Brakes, side to side",
        Kind::Joint => "Electrical joint",
        Kind::Tread => "Tire treads of an axle",
        Kind::Hub => "Wheel bearings, side to side",
    }
}

fn set_up(kind: Kind) -> Text {
    match kind {
        Kind::TireLeak => {
            "Looks for a cold spot where air leaves. Only quick leaks show: less than about 20 kPa a day \
             is below what heat can show.\n\
             Let the tire stand in the air of the bay for two to three hours, shaded, dry and without draft. Inflate to \
             no more than the sidewall marking, wait ten minutes. Take the pictures before any soap, which cools by \
             evaporation. Hold still for at least 30 s; turn the wheel in four to six steps. Place a ring \
             on the bead, and a ring on the base of the valve with its bare stem in the hole. After filling \
             from a warm compressor a leak may show warm: state that, or wait. Where a spot stays, let the pressure out \
             and look whether it goes. Note the pressure right after filling: it bounds the loss."
        }
        Kind::Brake => {
            "Compares the two brakes of an axle.\n\
             Duty test: five to ten moderate stops on a quiet straight road, then stop. Drag test: drive another five to \
             ten minutes without braking and coast to a stop. In a hybrid or electric vehicle, see that friction brakes \
             do the work. Take both sides within a minute, from the same distance and angle, through the wheel's \
             openings; aim at the same radius of both rotors. The rear axle may follow."
        }
        Kind::Joint => {
            "Compares a joint with its twin and with its own cable under a known load.\n\
             Put a steady load of at least 40 % of full current on for three to five minutes and read the current with a \
             clamp. Bare metal shows reflections: aim at a patch of tape put on before power, or at insulated cable 10 \
             to 20 mm from the lug. Never tape or touch a live conductor."
        }
        Kind::Tread => {
            "Compares bands, sides and sectors of the two treads of an axle.\n\
             Set the pressures cold. Drive 15 to 20 minutes at a steady speed on a straight road, the last two kilometers \
             gently. Take both treads within 90 s of the stop, hardest-worked tire first, each filling the picture; then \
             turn both wheels by a third of a turn, or roll the vehicle, and take both again in the same order. Place \
             a box on a rib of each third of the tread: about 25 mm in from the inner and from the outer shoulder, and \
             in the middle. Grooves in a box are left out, up to two fifths."
        }
        Kind::Hub => {
            "Compares the two hubs of an axle.\n\
             Drive 20 to 30 minutes at a steady speed, do not brake for the last five kilometers, coast to a stop. Take \
             both sides at once, from the same distance and angle; take a hub cap off, aim at the recess of the hub nut \
             and at the hat of the rotor between hub and swept face. A hub's own rise at the stop of a like drive, noted when it was sound, is the better reference."
        }
    }
}

fn grade(grade: Grade) -> Text {
    match grade {
        Grade::None => "no exception found within what is measured below.",
        Grade::Possible => "POSSIBLE DEFICIENCY. Look closer.",
        Grade::Probable => "PROBABLE DEFICIENCY. Confirm, then repair.",
        Grade::Major => "MAJOR DEFICIENCY. Act before further use.",
        Grade::NotAssessable => "NOT ASSESSABLE.",
    }
}

fn symptom(symptom: Symptom) -> Text {
    match symptom {
        Symptom::NothingSeen => "No thermal indication.",
        Symptom::NotAssessable => "The pictures cannot be judged, see the gates that failed.",
        Symptom::SideHotter => "One side is hotter than the other.",
        Symptom::HubHot => "A hub is hotter than usual, or than it was when sound.",
        Symptom::TreadCenterHotter => "The tread is hottest in its middle.",
        Symptom::TreadEdgesHotter => "The tread is hottest at both of its edges.",
        Symptom::TreadTilted => "The tread is hotter at one edge, more than its axle mate.",
        Symptom::TreadSectorHotter => "The tread is hotter in one part of its circumference.",
        Symptom::ColdSpot => "A spot is colder than the surface around it and stays.",
        Symptom::WarmSpot => "A spot is warmer than the surface around it and stays.",
        Symptom::JointHotter => "Heat is made in or near the joint.",
        Symptom::EvenlyWarm => "Joint and cable are both warm.",
        Symptom::FleetingSpot => "A spot was there, but not throughout.",
        Symptom::SpotWithoutPressure => {
            "A spot differs from the surface around it, with and without pressure; hardly a leak's."
        }
    }
}

fn role(role: Role) -> Text {
    match role {
        Role::Rotor => "rotor face",
        Role::Caliper => "caliper body",
        Role::Rim => "rim near the hub",
        Role::HubCenter => "middle of the hub",
        Role::RotorHat => "hat of the rotor",
        Role::Tread => "tread",
        Role::Bead => "bead",
        Role::Valve => "valve, around its bare stem",
        Role::Suspect => "spot",
        Role::Surround => "surface around the spot",
        Role::TreadInner => "tread, inner third",
        Role::TreadCenter => "tread, middle third",
        Role::TreadOuter => "tread, outer third",
        Role::Sidewall => "sidewall",
        Role::Joint => "joint",
        Role::Twin => "twin joint",
        Role::CableNear => "cable near the joint",
        Role::CableFar => "cable away from the joint",
    }
}

fn view(view: View) -> Text {
    match view {
        View::Single => "one",
        View::Left => "left",
        View::Right => "right",
        View::LeftTurned => "left turned",
        View::RightTurned => "right turned",
        View::RearLeft => "rear left",
        View::RearRight => "rear right",
    }
}

fn condition(condition: Condition) -> Text {
    match condition {
        Condition::AirTemperature => "air temperature at the part",
        Condition::Shaded => "out of the sun for 30 minutes or more",
        Condition::Dry => "dry",
        Condition::StillAir => "no wind or fan above 1 m/s",
        Condition::SameFinish => "compared parts have the same finish",
        Condition::InstrumentWarm => "instrument on for five minutes or more",
        Condition::SinceStop => "time since the stop",
        Condition::BrakesUsed => "brakes used repeatedly just before",
        Condition::BrakesUnused => "brakes unused for the last five minutes of the drive",
        Condition::DriveTime => "length of the steady drive",
        Condition::BaselineLeft => "rise of the left part at the stop of a like drive, when sound",
        Condition::BaselineRight => "rise of the right part at the stop of a like drive, when sound",
        Condition::SoakTime => "time the tire has stood",
        Condition::SinceInflation => "time since air was put in",
        Condition::Pressure => "gauge pressure",
        Condition::GoneAfterRelease => "spot went away when the pressure was let out",
        Condition::BareMetal => "searched surface is bare metal",
        Condition::Distance => "distance to the part",
        Condition::TireVolume => "inner volume of the tire",
        Condition::FilledPressure => "gauge pressure right after filling",
        Condition::WarmAir => "air just put in is clearly warmer than the tire, which has stood",
        Condition::Current => "current during the pictures",
        Condition::FullCurrent => "full current of the circuit",
        Condition::LoadTime => "time the load has been on",
        Condition::MatteSurface => "seen on tape, matte paint or insulation",
    }
}

fn metric(metric: Metric) -> Text {
    match metric {
        Metric::Temperature => "temperature",
        Metric::Rise => "rise over air",
        Metric::RiseRatio => "ratio of rises over air, hotter to colder",
        Metric::SideDifference => "difference between the sides",
        Metric::HubOverHat => "middle of the hub minus hat of the rotor",
        Metric::OverBaseline => "rise beyond that of the sound part",
        Metric::SpotHeight => "height above the surface around it, as seen",
        Metric::LossAtLeast => "least pressure loss that makes such a spot",
        Metric::LossAtMost => "most pressure loss that the gauge allows since filling",
        Metric::Tail => "tail of the spot, on one side of it, as a jet makes it",
        Metric::CenterOverEdges => "middle over the mean of the edges",
        Metric::EdgesOverCenter => "cooler edge over the middle",
        Metric::Tilt => "inner edge minus outer edge",
        Metric::TiltDifference => "difference between the tilts of the two tires",
        Metric::SectorExcess => "one sector over another, less the mate's change",
        Metric::SpotDepth => "depth below the surface around it, as seen",
        Metric::Persistence => "seen for",
        Metric::SpotSize => "width of the spot",
        Metric::SmallestDetectable => "smallest spot that would have been noticed",
        Metric::LikeDifference => "difference between the two joints, as measured",
        Metric::ProjectedRise => "rise over air, projected to full current",
        Metric::ProjectedDifference => "difference between the two joints, projected to full current",
        Metric::CableDrop => "drop along the cable, away from the joint",
        Metric::CableRise => "rise of the cable over air, projected to full current",
        Metric::LoadShare => "share of full current",
    }
}

fn gate(gate: Gate) -> Text {
    match gate {
        Gate::ShapeMissing => "A needed part was not placed or not in the pictures.",
        Gate::ConditionMissing => "A condition that decides was not stated.",
        Gate::Sun => "Sun on the parts within the last 30 minutes.",
        Gate::Wet => "The parts are wet; evaporation cools them.",
        Gate::Wind => "Wind or a fan halves small rises.",
        Gate::BareMetal => "Bare metal shows reflections, not its temperature.",
        Gate::FinishDiffers => "Compared parts have different finishes, so their emissivities differ.",
        Gate::InstrumentCold => "The instrument is not warmed up; its offset still drifts.",
        Gate::ShutterBetween => "The shutter closed between the pictures; its step is as large as the difference.",
        Gate::TooSmall => "Under three pixels across: detected, not measured.",
        Gate::InvalidPixels => "More than one pixel in ten is saturated or dead.",
        Gate::TooShort => "The pictures cover too short a time.",
        Gate::NoTemperature => "The signal means no temperature in the stated scene.",
        Gate::RiseTooSmall => "The hotter rotor is less than 40 K above air: the brakes were hardly used.",
        Gate::BrakeUseUnclear => "State either that the brakes were used or that they were unused.",
        Gate::TooLate => "Too long after the stop; the parts have changed.",
        Gate::RimContradicts => "The rims are the other way round: the rotors may differ in emissivity, not in heat.",
        Gate::DriveTooShort => "The drive was too short to warm the parts.",
        Gate::TreadTooCool => "The warmer tread is less than 5 K above air: the drive did not work the tires.",
        Gate::HubTooCool => "The warmer hub is less than 3 K above air: the drive did not warm it.",
        Gate::SoakTooShort => "The tire has stood for less than two hours and is not at air temperature.",
        Gate::JustInflated => "Air was put in less than ten minutes ago and may be warm.",
        Gate::PressureTooLow => "Too little pressure for air to leave as a cold jet.",
        Gate::NotSearched => "No spot was placed and no area was searched.",
        Gate::AtBorder => {
            "A spot lies at the border of the picture, without surroundings to compare it with; aim anew."
        }
        Gate::WarmAirUnclear => "Warm air was stated, but none was put in within the last 15 minutes.",
        Gate::LoadTooLow => "Less than 40 % of full current flowed.",
        Gate::LoadTooShort => "The load was on for less than three minutes.",
    }
}

fn cause(cause: Cause) -> Text {
    match cause {
        Cause::BrakeDrags => "brake that does not release (piston, slide pins, hose, no free play)",
        Cause::ParkingBrakeBinds => "parking brake that binds",
        Cause::BrakeWeak => "the colder brake does less than its share (stuck piston or pins, air, proportioning)",
        Cause::WheelBearing => "wheel bearing",
        Cause::UnevenParts => "uneven parts (new pads, different rotors, a missing shield)",
        Cause::Overinflation => "too much pressure in the tire",
        Cause::Underinflation => "too little pressure in the tire, or too much load on it",
        Cause::Misalignment => "wheel out of alignment, or a bent axle part",
        Cause::BeltSeparation => "belt of the tire shifted or separating",
        Cause::UnevenWork => "one side worked harder: load, bends, a crowned road, earlier sun",
        Cause::LeakTread => "air leaving through tread or sidewall",
        Cause::LeakBead => "air leaving at the bead",
        Cause::LeakValve => "air leaving at the valve",
        Cause::WaterOrReflection => "a drop of water, or metal that reflects something cold",
        Cause::WarmthOrReflection => "something warm on or behind it, or metal that reflects it",
        Cause::JointResistance => "high resistance in the joint (loose, corroded, dirty)",
        Cause::Overload => "more current than the cable is made for",
        Cause::NeighborHeat => "heat from a neighboring part",
        Cause::UnequalLoad => "the two joints carry different currents",
    }
}

fn test(test: NextTest) -> Text {
    match test {
        NextTest::SpinWheels => "Raise the axle, turn both wheels by hand or with a pull scale, compare.",
        NextTest::OpenBleeder => {
            "Open the bleeder: drag that goes points to the hose or above, drag that stays to the caliper."
        }
        NextTest::InspectCaliper => "Check slide pins, piston retraction, and inner against outer pad thickness.",
        NextTest::RollerTest => "Measure brake force side to side on a roller tester.",
        NextTest::RepeatUnbraked => {
            "Drive five to ten minutes without braking and repeat: a side that stays hot drags."
        }
        NextTest::RockWheel => "Raise the axle, rock the wheel at top and bottom, feel for play.",
        NextTest::ListenUnderLoad => {
            "Listen while the load shifts from side to side; turn the raised wheel by hand with a listening device."
        }
        NextTest::GaugePressure => "Gauge all tires cold and set them as the vehicle's placard says.",
        NextTest::TreadDepth => "Measure the tread's depth across its width, on both tires.",
        NextTest::Alignment => "Measure wheel alignment.",
        NextTest::Runout => "With the wheel free to turn, measure runout and look for a bulge or exposed cord.",
        NextTest::TurnAndRepeat => {
            "Turn both wheels by a third of a turn, repeat: pressure and alignment stay, a belt moves."
        }
        NextTest::GaugeDrop => "Gauge the pressure now and after some hours, corrected for temperature.",
        NextTest::SoapSolution => "Soap solution, after all pictures are taken.",
        NextTest::Immersion => "Immerse the wheel.",
        NextTest::ReleasePressure => "Let the pressure out and watch: a leak's spot is gone within a minute.",
        NextTest::DismountTire => {
            "Dismount and inspect inside; shoulder and sidewall damage is normally not repairable."
        }
        NextTest::VoltageDrop => {
            "Measure the voltage drop across the joint under load: 0.2 V per cable run while cranking or charging \
             (service data), ideally below 0.1 V."
        }
        NextTest::CleanAndRepeat => "Switch off, clean, tighten to specification, repeat the same picture.",
        NextTest::CompareCurrents => "Clamp both circuits and compare their currents.",
        NextTest::RepeatProperly => "Set right what the gates name and repeat.",
    }
}

fn caution(caution: Caution) -> Text {
    match caution {
        Caution::LocalRules => {
            "Local codes, your employer's procedures, the vehicle maker's instructions and licensed practice come first."
        }
        Caution::HotParts => "Parts may be hot enough to burn; rotors reach 200 to 500 °C.",
        Caution::Lifting => "Lift only with a rated lift at the maker's points, locked; never go under a jack.",
        Caution::BrakeDust => {
            "Brake dust may contain asbestos: no dry brushing, no compressed air; wet or enclosed cleaning only."
        }
        Caution::DoNotDrive => "Do not drive the vehicle until this is settled.",
        Caution::NoWaterOnRotors => "Do not cool rotors with water.",
        Caution::Inflation => {
            "Stand out of the tire's trajectory, use a clip-on chuck with a hose, never exceed the marked pressure."
        }
        Caution::DamagedTire => {
            "Bulge, exposed cord, or run while flat: do not inflate, do not drive, have it inspected inside."
        }
        Caution::Chock => "Chock the wheels that stay on the ground.",
        Caution::DrivenWheel => "Keep out of the plane of a raised wheel that is driven.",
        Caution::BatteryGas => "Batteries give off hydrogen: no sparks or flames, ventilate, protect eyes and face.",
        Caution::Arcs => {
            "Jewelry off; disconnect earth first, connect it last; no tool across the posts; never bypass a fuse."
        }
        Caution::HighVoltage => "Orange cables and their covers are for qualified persons only.",
        Caution::MovingParts => "Belts and fans may start by themselves; keep hands, hair and clothing away.",
    }
}

fn note(note: Note) -> Text {
    match note {
        Note::NotADiagnosis => {
            "Thermography alone is not a diagnosis; the result holds for the time and load of the pictures."
        }
        Note::LeakNotExcluded => "The absence of a cold spot does not exclude a leak; slow leaks do not show.",
        Note::SpotUnconfirmed => {
            "Water, metal and shadows look alike; only a spot that goes with the pressure is a leak's."
        }
        Note::WarmSpotUnconfirmed => {
            "Prints, lamps and metal look alike; only a spot that goes with the pressure is a leak's."
        }
        Note::DragTolerance => "Permitted drag alone can make a difference of 20 to 40 K after a fast road.",
        Note::EitherSide => {
            "After braking the hot side may be the sound one; heat alone does not say which side is at fault."
        }
        Note::Regeneration => "Regenerative braking hides friction heat in hybrid and electric vehicles.",
        Note::BearingNotExcluded => {
            "The absence of heat does not clear a noisy bearing; early damage is heard before it warms a hub."
        }
        Note::NewBearing => "A new or freshly greased bearing runs warm for hours and then settles.",
        Note::HubWarmedByBrake => "Heat not clearly from the hub's middle: a brake warms the hub too.",
        Note::LittleTreadHeat => "Straight roads make little heat; an even tread does not prove the pressure right.",
        Note::NotTurned => "No turned pictures of both wheels: no sector was looked for.",
        Note::PartOfTurnOnly => "Only the pictured parts of the turn were compared.",
        Note::RimTakesHeat => {
            "The rim takes the brake's heat: it lags the rotor by minutes, shows less, reads more surely."
        }
        Note::FrontAxleHotter => "The front axle brakes more; axles were not compared with each other.",
        Note::AxleTooCool => "An axle was less than 40 K above air and was not compared.",
        Note::PlantBands => {
            "The bands are written for building and plant equipment; for vehicles they are a frame, not a law."
        }
        Note::Projected => "Values were projected to full current with an exponent of 1.6 to 2.0.",
        Note::Undecided => "The uncertainty reaches into a higher grade; the measurement cannot decide.",
    }
}

fn phrase(phrase: Phrase) -> Text {
    match phrase {
        Phrase::Evidence => "Measured (± is the expanded uncertainty, k = 2):",
        Phrase::Gates => "Gates that failed:",
        Phrase::Causes => "Suspected causes, most likely first:",
        Phrase::Tests => "Test next:",
        Phrase::Cautions => "Caution:",
        Phrase::Notes => "Note:",
        Phrase::Limits => "Limits:",
        Phrase::Possible => "possible",
        Phrase::Probable => "probable",
        Phrase::Major => "major",
        Phrase::Conditions => "State, and see that it holds:",
        Phrase::Pictures => "Pictures:",
        Phrase::FurtherPictures => "; if wanted: ",
        Phrase::AimAt => "Aim at and place:",
        Phrase::Required => "needed",
        Phrase::Optional => "if visible",
        Phrase::Searched => "area to search; one of these is needed, unless the spot is placed by hand",
        Phrase::AtLeast => "at least",
        Phrase::AtMost => "at most",
        Phrase::MustBeYes => "must be so",
        Phrase::MustBeNo => "must not be so",
        Phrase::Unless => ", unless ",
        Phrase::OrElse => "either this or",
        Phrase::IfKnown => "if known",
        Phrase::Stated => "must be stated",
        Phrase::ElseNotAssessable => ", otherwise not assessable",
        Phrase::ElseWeaker => ", otherwise graded \"possible\" at most",
    }
}

}
