//! Letters and frequent fragments of each language, shorter ones first. Made by `cargo xtask fragments`; do not edit.

/// For the phrases of [`ENGLISH`](super::ENGLISH).
#[rustfmt::skip]
pub const ENGLISH: &[&str] = &[
    " ", "'", ",", ".", "0", "2", ":", ";", "A", "B", "C", "D", "E", "I", "L", "N", "O", "P", "S", "T", "a", "b", "c",
    "d", "e", "f", "g", "h", "i", "j", "k", "l", "m", "n", "o", "p", "r", "s", "t", "u", "v", "w", "x", "y", "\0", "e ",
    "th", "t ", "s ", "re", " a", "d ", "in", "r ", ".\0", "te", ", ", "le", "ar", "to", "an", "on", "of", "ur", "ro",
    "no", "ra", " s", "de", "ti", "ri", "en", "y ", "se", "or", "ou", "ve", "he", "l ", "ta", "t\0", "wa", "ic", "wi",
    "lo", "ad", "po", "ir", "co", "be", " f", "me", "ho", "o ", "ne", "la", "ss", "mp", "bo", "ma", "li", "er", "di",
    "; ", "n ", ". ", "tw", "st", "si", "gh", "ce", "ca", "a ", "0 ", "un", "d\0", "ch", "wh", "pe", "hu", "fa", "mi",
    "fe", ": ", "ha", "as", "sa", ":\0", "sh", "p ", "ke", "at ", "or ", " a ", "is ", "ve ", "ing", " an", "ure",
    "ts ", "le ", "ren", "he ", "st ", "s.\0", "es ", "ce ", "s, ", "rak", "par", "ss ", "lea", "to ", "min", "whe",
    "tre", "se ", "ir ", "war", "the", "me ", "ll ", "ad ", "sto", "oun", "oin", "in ", "d.\0", "th ", "hub", "dri",
    "de ", "tur", "rom", "of ", "dif", "'s ", "ly ", "ke ", "it ", "ge ", "are", "ut ", "t.\0", "sta", "pro", "for",
    "cab", " si", "ter", "ove", "en ", "d, ", "col", "sur", "re ", "the ", "not ", "with", "The ", "and ", "than",
    "ure ", "ture", "minu", "brak", "was ", "tion", "ress", "whee", "ter ", "ted ", "pot ", "join", "are ", " at ",
    "out ", "its ", "sed ", "roto", "one ", "ing ", "warm", "two ", "air ", "tire", "oes ", "leak", "ull ", "ten ",
    "side", " the ", "that ", " and ", "press", "urren", "than ", "less ", "feren", "mpare", "both ", "wheel", "tread",
    "ound ", "minute", "icture", "curren", "of the ", "picture", "in the ", "rom the ", "minutes ", "differen",
    "pressure ", "ull curren",
];

/// For the phrases of [`SPANISH`](super::SPANISH).
#[rustfmt::skip]
pub const SPANISH: &[&str] = &[
    " ", "(", ")", ",", ".", "0", "2", ":", ";", "A", "C", "E", "I", "L", "M", "N", "S", "a", "b", "c", "d", "e", "f",
    "g", "h", "i", "j", "l", "m", "n", "o", "p", "q", "r", "s", "t", "u", "v", "x", "y", "z", "\0", "á", "é", "í", "ó",
    "ú", "a ", "e ", "o ", "s ", "en", "ar", "n ", "l ", "co", "es", "er", "ad", ".\0", ", ", "ci", "an", "al", "or",
    "qu", "re", "un", "di", "in", "y ", "ue", "cu", "ti", "ro", "as", "so", "mp", "ne", "fr", "le", "ab", "tr", "ur",
    "; ", "si", "am", "ai", "a\0", "to", "de", "pi", "ez", "us", "pr", "me", "ir", "id", "ec", ": ", "o\0", "lo", ". ",
    "su", "st", "gu", "mi", "0 ", "ve", "on", "os", "fu", "ej", "se", "fi", "aj", "im", "r ", "pu", "po", "om", "de ",
    "os ", "el ", "la ", "as ", "ent", "ar ", "en ", "má", "se ", "un ", "re ", "est", "or ", "no ", "cal", "lo ",
    "es ", "ant", "a.\0", "des", "car", "par", "cor", "al ", "to ", "ter", "pun", "a, ", "ued", "and", "co ", "aci",
    "lev", "per", "min", "gen", "dad", "amb", "a p", "pro", "mo ", "ón", "emp", "cin", "ca ", "La ", "El ", "tur",
    "ta ", "er ", "cab", "qui", "hí", "an ", "o.\0", "le ", "lad", "dis", "cub", "ó ", "mis", "len", "gir", "edi",
    "con", "que ", "ient", "ón ", "del ", "una ", "las ", "los ", "ado ", "con ", "corr", "bre ", "rued", "fren",
    "carg", "piez", "umá", "tos ", "minu", "cone", "pres", "band", "mpar", "tar ", "aire", "ada ", "enci", "dos ",
    "por ", "frí", "teri", "sin ", "elev", "a de ", "enos ", "más ", "ión ", "está", "aire ", "o de ", "conex", "lado ",
    "a la ", "rodad", "vehí", "de la ", "iente ", "menos ", "sobre ", "está ", "umáti", "punto ", "en el ", "no se ",
    "mágen", "es de ", "a del ", "ación ", "rodadur", "vehícu", "imágen", "neumáti", "minutos ", "caliente ",
    "presión ", "menos de ", "sobre el ", "neumático", "más caliente ",
];
