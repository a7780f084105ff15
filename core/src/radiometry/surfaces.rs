//! Emissivities of vehicle surfaces.
//!
//! *What.* Radiometry notes, section 4, one row per surface: range, a value to start from, and where it comes from.
//! *How far to trust it.* As ranges and defaults, never as calibration: metals move by a factor of 2 to 5 with their
//! finish. The start value is the source's own where it gives one, else the middle of its range (derived). *Total*
//! emissivity stands in for the long-wave one: a fair proxy for metals, slightly low for other materials. Rows below 0.5
//! need the warning of [`super::EmissivityGate`]. *Left out* of the notes' list: stainless 301 (its value is doubted
//! there) and knitted textiles (measured over the middle infrared).

/// The band a value was measured in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum EmissivityBand {
    /// Over all wavelengths, usually along the normal.
    Total,
    /// Long-wave infrared, about 8 to 14 µm.
    Longwave,
    /// As an infrared thermometer shows it, band not stated.
    Thermometer,
}

/// A surface and its emissivity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Surface {
    /// Key for programs: lower case, words joined by `-`.
    pub key: &'static str,
    /// Name for people.
    pub name: &'static str,
    /// Lowest value quoted.
    pub low: f64,
    /// Value to start from.
    pub typical: f64,
    /// Highest value quoted.
    pub high: f64,
    /// Band of the values.
    pub band: EmissivityBand,
    /// Temperature of the values, in words; empty if the source gives none.
    pub temperature: &'static str,
    /// Source of the values.
    pub source: &'static str,
    /// True if the values were read in the source, false if they are from memory and still to be confirmed.
    pub read: bool,
}

/// The surface with this key.
#[must_use]
pub fn surface(key: &str) -> Option<&'static Surface> {
    SURFACES.iter().find(|surface| surface.key == key)
}

const IRB: &str = "Instrumentation Reference Book, 3rd ed., table 14.16";
const MEH: &str = "Mechanical Engineers' Handbook vol. 4, table 19";
const EDE: &str = "Ede, An Introduction to Heat Transfer";
const NEU: &str = "neutrium.net, total normal emissivities";
const SSE: &str = "Spacecraft Systems Engineering, 4th ed., table 11.3";
const CHEN: &str = "Chen & Chen, Constr. Build. Mater. 126 (2016) 130";
const NIJ: &str = "National Institute of Justice, mid-infrared emissivity of fabrics";
const INC: &str = "Incropera, table A.11";
const HOT: &str = "Hottel/McAdams table";
const GENERAL: &str = "general range, no single source";

/// Values of [`Surface::read`], so that a row says which.
const READ: bool = true;
const MEMORY: bool = false;

const fn row(
    key: &'static str,
    name: &'static str,
    [low, typical, high]: [f64; 3],
    band: EmissivityBand,
    temperature: &'static str,
    source: &'static str,
    read: bool,
) -> Surface {
    Surface { key, name, low, typical, high, band, temperature, source, read }
}

/// Every surface, grouped by material.
pub static SURFACES: [Surface; 54] = [
    row("tire-rubber", "tire rubber, black, hard", [0.92, 0.94, 0.96], EmissivityBand::Total, "23 °C", HOT, MEMORY),
    row("rubber-soft", "rubber, soft, gray, rough", [0.86, 0.86, 0.86], EmissivityBand::Total, "24 °C", HOT, MEMORY),
    row("paint-white", "body paint, white", [0.90, 0.925, 0.95], EmissivityBand::Total, "300 K", MEH, READ),
    row("paint", "paint, black or white, general", [0.80, 0.875, 0.95], EmissivityBand::Total, "", EDE, READ),
    row(
        "paint-polyurethane-black",
        "polyurethane paint, black",
        [0.90, 0.90, 0.90],
        EmissivityBand::Total,
        "",
        SSE,
        READ,
    ),
    row("paint-epoxy-black", "epoxy paint, black", [0.85, 0.85, 0.85], EmissivityBand::Total, "", SSE, READ),
    row("lacquer-flat-black", "lacquer, flat black", [0.95, 0.95, 0.95], EmissivityBand::Total, "300 K", MEH, READ),
    row(
        "paint-aluminum",
        "aluminum-pigment paint, silver wheels, heat paint",
        [0.30, 0.50, 0.70],
        EmissivityBand::Total,
        "",
        EDE,
        READ,
    ),
    row("powder-coat", "powder coat, any color", [0.90, 0.925, 0.95], EmissivityBand::Longwave, "", GENERAL, MEMORY),
    row(
        "aluminum-polished",
        "aluminum, polished",
        [0.03, 0.05, 0.08],
        EmissivityBand::Total,
        "20 °C to 300 K",
        "Ede; Mechanical Engineers' Handbook; neutrium.net; Spacecraft Systems Engineering",
        READ,
    ),
    row("aluminum-sheet", "aluminum, commercial sheet", [0.09, 0.09, 0.09], EmissivityBand::Total, "100 °C", NEU, READ),
    row(
        "aluminum-rough-polish",
        "aluminum, rough polish",
        [0.18, 0.18, 0.18],
        EmissivityBand::Total,
        "100 °C",
        NEU,
        READ,
    ),
    row(
        "aluminum-oxidized",
        "aluminum, oxidized at 600 °C",
        [0.11, 0.15, 0.19],
        EmissivityBand::Total,
        "200 to 600 °C",
        "neutrium.net; Instrumentation Reference Book",
        READ,
    ),
    row(
        "aluminum-heavily-oxidized",
        "aluminum, heavily oxidized",
        [0.20, 0.255, 0.31],
        EmissivityBand::Total,
        "95 to 500 °C",
        NEU,
        READ,
    ),
    row("aluminum-anodized", "aluminum, anodized", [0.84, 0.84, 0.84], EmissivityBand::Total, "20 °C", NEU, READ),
    row(
        "aluminum-cast",
        "cast aluminum, as cast or blasted: housings, calipers",
        [0.20, 0.35, 0.50],
        EmissivityBand::Longwave,
        "",
        GENERAL,
        MEMORY,
    ),
    row(
        "cast-iron-machined",
        "cast iron, bright, machined: rotor face",
        [0.20, 0.21, 0.25],
        EmissivityBand::Total,
        "",
        "Ede; Mechanical Engineers' Handbook; Instrumentation Reference Book",
        READ,
    ),
    row(
        "cast-iron-oxidized",
        "cast iron, oxidized: rotor hat, thermally cycled face",
        [0.60, 0.64, 0.78],
        EmissivityBand::Total,
        "200 to 600 °C",
        "Ede; Instrumentation Reference Book",
        READ,
    ),
    row(
        "cast-iron-strongly-oxidized",
        "cast iron, strongly oxidized",
        [0.95, 0.95, 0.95],
        EmissivityBand::Total,
        "40 to 250 °C",
        IRB,
        READ,
    ),
    row("iron-rusted", "iron, rusted: rusty rotor", [0.60, 0.65, 0.70], EmissivityBand::Total, "25 °C", IRB, READ),
    row("iron-oxidized", "iron, oxidized", [0.74, 0.74, 0.84], EmissivityBand::Total, "100 to 500 °C", IRB, READ),
    row(
        "brake-rotor-in-use",
        "brake rotor in use, mixed state, changes within one stop",
        [0.20, 0.55, 0.90],
        EmissivityBand::Longwave,
        "",
        "tribology literature",
        MEMORY,
    ),
    row(
        "steel-polished",
        "steel, polished",
        [0.05, 0.08, 0.15],
        EmissivityBand::Total,
        "",
        "Instrumentation Reference Book; Ede",
        READ,
    ),
    row(
        "steel-oxidized",
        "steel, oxidized: exhaust, manifold",
        [0.60, 0.79, 0.80],
        EmissivityBand::Total,
        "25 to 600 °C",
        "Instrumentation Reference Book; Ede",
        READ,
    ),
    row(
        "steel-plate-rough",
        "steel plate, rough",
        [0.85, 0.94, 0.97],
        EmissivityBand::Total,
        "40 to 400 °C",
        "Instrumentation Reference Book; Ede",
        READ,
    ),
    row(
        "exhaust-header-iron",
        "iron exhaust header",
        [0.60, 0.60, 0.60],
        EmissivityBand::Total,
        "400 °C",
        "Automotive Aerodynamics, example 11.3",
        READ,
    ),
    row(
        "galvanized-bright",
        "galvanized sheet, bright",
        [0.23, 0.23, 0.23],
        EmissivityBand::Total,
        "28 °C",
        HOT,
        MEMORY,
    ),
    row(
        "galvanized-oxidized",
        "galvanized sheet, gray, oxidized",
        [0.28, 0.28, 0.28],
        EmissivityBand::Total,
        "24 °C",
        HOT,
        MEMORY,
    ),
    row(
        "galvanized-weathered",
        "galvanized sheet, weathered",
        [0.60, 0.75, 0.90],
        EmissivityBand::Longwave,
        "",
        GENERAL,
        MEMORY,
    ),
    row(
        "stainless-cleaned",
        "stainless steel, cleaned",
        [0.22, 0.22, 0.22],
        EmissivityBand::Total,
        "300 K",
        INC,
        MEMORY,
    ),
    row(
        "stainless-lightly-oxidized",
        "stainless steel, lightly oxidized",
        [0.33, 0.33, 0.33],
        EmissivityBand::Total,
        "800 to 1000 K",
        INC,
        MEMORY,
    ),
    row(
        "stainless-heavily-oxidized",
        "stainless steel, heavily oxidized",
        [0.67, 0.715, 0.76],
        EmissivityBand::Total,
        "800 to 1000 K",
        INC,
        MEMORY,
    ),
    row(
        "stainless-exhaust-oxidized",
        "stainless exhaust alloy, oxidized",
        [0.90, 0.90, 0.97],
        EmissivityBand::Total,
        "200 to 500 °C",
        IRB,
        READ,
    ),
    row(
        "copper-polished",
        "copper, polished",
        [0.02, 0.03, 0.05],
        EmissivityBand::Total,
        "",
        "Ede; Mechanical Engineers' Handbook",
        READ,
    ),
    row(
        "copper-oxidized",
        "copper, tarnished or oxidized",
        [0.60, 0.60, 0.75],
        EmissivityBand::Total,
        "to 200 °C",
        "Ede; Mechanical Engineers' Handbook; Instrumentation Reference Book",
        READ,
    ),
    row("brass-bright", "brass, bright", [0.035, 0.035, 0.035], EmissivityBand::Total, "", IRB, READ),
    row("brass-oxidized", "brass, oxidized", [0.61, 0.61, 0.61], EmissivityBand::Total, "200 °C", IRB, READ),
    row("lead-bright", "lead terminal, bright", [0.05, 0.05, 0.08], EmissivityBand::Total, "", IRB, READ),
    row("lead-gray", "lead terminal, gray, oxidized", [0.28, 0.28, 0.28], EmissivityBand::Total, "24 °C", HOT, MEMORY),
    row(
        "lead-oxidized",
        "lead, oxidized",
        [0.43, 0.43, 0.63],
        EmissivityBand::Total,
        "to 200 °C",
        "Instrumentation Reference Book; Automotive Aerodynamics",
        READ,
    ),
    row("plastic-black", "plastic, black", [0.937, 0.937, 0.937], EmissivityBand::Thermometer, "", CHEN, READ),
    row("polyethylene", "polyethylene plate", [0.942, 0.942, 0.942], EmissivityBand::Thermometer, "", CHEN, READ),
    row("plastic-trim", "plastic trim, opaque", [0.90, 0.925, 0.95], EmissivityBand::Longwave, "", GENERAL, MEMORY),
    row("leather", "leather; tables disagree", [0.75, 0.95, 0.98], EmissivityBand::Longwave, "", GENERAL, MEMORY),
    row("cloth-nylon", "cloth, nylon", [0.87, 0.87, 0.87], EmissivityBand::Longwave, "40 °C", NIJ, READ),
    row(
        "cloth-cotton",
        "cloth, cotton",
        [0.802, 0.88, 0.88],
        EmissivityBand::Longwave,
        "40 °C",
        "National Institute of Justice; Chen & Chen 2016 (0.802, infrared thermometer)",
        READ,
    ),
    row("cloth-polyester", "cloth, polyester", [0.88, 0.88, 0.88], EmissivityBand::Longwave, "40 °C", NIJ, READ),
    row("cloth-acrylic", "cloth, acrylic", [0.82, 0.82, 0.82], EmissivityBand::Longwave, "40 °C", NIJ, READ),
    row(
        "glass",
        "window glass, flat; opaque in this band",
        [0.90, 0.911, 0.95],
        EmissivityBand::Thermometer,
        "",
        "Chen & Chen 2016; Ede; Automotive Aerodynamics",
        READ,
    ),
    row(
        "glass-hemispherical",
        "window glass, uncoated, over all directions",
        [0.84, 0.845, 0.85],
        EmissivityBand::Total,
        "283 K",
        "baunetzwissen.de; EN 673 (0.837, memory)",
        READ,
    ),
    row(
        "water",
        "water film or drop",
        [0.95, 0.96, 0.963],
        EmissivityBand::Total,
        "0 to 100 °C",
        "engineeringtoolbox.com; Automotive Aerodynamics",
        READ,
    ),
    row("ice", "ice", [0.96, 0.975, 0.99], EmissivityBand::Total, "", "engineeringtoolbox.com", READ),
    row(
        "tape-vinyl-black",
        "vinyl electrical tape, black",
        [0.95, 0.96, 0.97],
        EmissivityBand::Longwave,
        "",
        GENERAL,
        MEMORY,
    ),
    row(
        "skin",
        "human skin",
        [0.96, 0.972, 0.99],
        EmissivityBand::Longwave,
        "",
        "Charlton et al. 2020; Togawa 1989",
        READ,
    ),
];
