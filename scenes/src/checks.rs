//! One module per check: its compact model, its picture and its cases.

pub mod air_conditioning;
pub mod battery;
pub mod belt_drive;
pub mod brake;
pub mod catalyst;
pub mod charging;
pub mod defroster;
pub mod exhaust_leak;
pub mod fuse_box;
pub mod heater_core;
pub mod hub;
pub mod joint;
pub mod lead;
pub mod ports;
pub mod radiator;
pub mod seat_heater;
pub mod standby_draw;
pub mod steering_heater;
pub mod thermostat;
pub mod tire_leak;
pub mod tread;
