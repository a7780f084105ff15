//! Heat transfer that scenes share: lumps and chains, thin sheets, and what air takes away.
//!
//! Everything counts rises over the local air in K, so that equations stay linear and no absolute temperature enters.

pub mod air;
pub mod network;
pub mod sheet;

pub use network::Network;
pub use sheet::Sheet;
