//! Checks: what a fault of a vehicle looks like, and when a picture can show it.
//!
//! A check is a [`Definition`]: which pictures and shapes it needs, which conditions must hold, its limits with their
//! sources, its cautions, and one function that judges. Everything else is shared, so every check is driven the same
//! way: read its definition (the *brief*), [`Check::begin`] with the stated conditions, [`Check::place`] shapes by
//! role (or [`Check::locate`] them), feed rows, and [`Check::judge`].
//!
//! Adding a check takes one file with a definition and one line in the list below.

#[allow(clippy::float_arithmetic, reason = "closing arithmetic of the check")]
mod brake;
mod conditions;
mod definition;
mod engine;
#[allow(clippy::float_arithmetic, reason = "closing arithmetic of the check")]
mod hub;
#[allow(clippy::float_arithmetic, reason = "closing arithmetic of the check")]
mod joint;
mod locate;
mod needs;
#[allow(clippy::float_arithmetic, reason = "closing arithmetic of a check")]
mod observed;
#[allow(clippy::float_arithmetic, reason = "closing arithmetic of a check")]
mod sides;
#[allow(clippy::float_arithmetic, reason = "closing arithmetic of the check")]
mod tire_leak;
#[allow(clippy::float_arithmetic, reason = "closing arithmetic of the check")]
mod tread;
mod vocabulary;

pub use conditions::Conditions;
pub use definition::{Definition, Must, Need, Part, Use, Watch};
pub use engine::{Check, FrameInfo, Place, Setup, Slot, State};
pub use locate::Located;
pub use observed::Observed;
pub use vocabulary::{Condition, Role, Unit, View};

use crate::codes::codes;

/// The list of checks: one line each, `number, "key", module`.
macro_rules! checks {
    ($($(#[doc = $doc:literal])+ $variant:ident = $code:literal, $key:literal, $module:ident;)+) => {
        codes! {
            /// Which check.
            pub enum Kind { $($(#[doc = $doc])+ $variant = $code, $key;)+ }
        }

        impl Kind {
            /// What the check needs, its limits and how it judges.
            #[must_use]
            pub fn definition(self) -> &'static Definition {
                match self { $(Self::$variant => &$module::DEFINITION,)+ }
            }

            fn judge(self) -> definition::Judge {
                match self { $(Self::$variant => $module::judge,)+ }
            }
        }
    };
}

checks! {
    /// Tire air leak, seen as a cold spot where the air leaves.
    TireLeak = 1, "tire-leak", tire_leak;
    /// Brakes of an axle, or of both, side to side.
    Brake = 2, "brake", brake;
    /// Electrical joint under load.
    Joint = 3, "joint", joint;
    /// Tire treads of an axle: bands, sides, sectors.
    Tread = 4, "tread", tread;
    /// Wheel bearings of an axle, side to side.
    Hub = 5, "hub", hub;
}
