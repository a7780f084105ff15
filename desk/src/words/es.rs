//! Spanish, in the style of the library's: infinitives, words of no one country, decimal point.

use super::{Headings, SensorWords, Words};
use crate::recording::Correction;
use oddheat_core::finding::Grade;
use oddheat_core::measure::Component;
use oddheat_core::regions::Sign;
use oddheat_core::sensor::DefectKind;
use oddheat_core::wording::{self, Phrase, Text};

pub(crate) static SPANISH: Words = Words {
    language: &wording::SPANISH,
    headings: Headings {
        made_by: "Hecho con",
        preface: "± es la incertidumbre expandida (k = 2, aproximadamente 95 %). La termografía por sí sola no es un \
                  diagnóstico; un resultado vale para el momento y la carga de sus imágenes.",
        number: "N.º",
        recording: "Grabación",
        check: "Revisión",
        no_check: "Sin revisión",
        finding: "Resultado",
        because: "Motivo",
        seen: "Observado",
        caution: "Precaución",
        thermal_picture: "Imagen térmica",
        measured: "Medido",
        what: "Magnitud",
        location: "Dónde",
        value: "Valor",
        limit: "Límite [fuente]",
        gates: "Requisitos no cumplidos",
        causes: "Causas sospechadas, la más probable primero",
        tests: "Comprobar a continuación",
        note: "Nota",
        shapes: "Zonas colocadas",
        part: "Pieza",
        picture: "Imagen",
        mean_temperature: "Temperatura media",
        emissivity: "Emisividad",
        pixels_frames: "Píxeles × fotogramas",
        budgets: "Incertidumbre de cada temperatura por componentes",
        component: "Componente",
        input: "Incertidumbre estándar de la entrada",
        coefficient: "Coeficiente, K por unidad",
        contribution: "Contribución",
        share: "Parte",
        sensor: "Sensor",
        regions: "Regiones, la más intensa primero",
        sign: "Signo",
        pixels: "Píxeles",
        columns_rows: "Columnas, filas",
        centroid: "Centroide",
        peak: "Extremo",
        mean: "Media",
        conditions: "Condiciones indicadas",
        report: "Informe",
    },
    examination: "Examen",
    morning: "Una mañana en la cochera",
    about: wording::SPANISH.kind,
    grade,
    unjudged: "sin evaluar",
    no_check_asked: "no se pidió ninguna revisión",
    label: wording::SPANISH.role,
    sign,
    component,
    no: "no",
    yes: "sí",
    none: "ninguna",
    drift_unknown: "no evaluable: deriva desconocida",
    combined: "combinada, raíz de la suma de los cuadrados",
    expanded: "expandida, k = 2",
    stops: "no evaluable",
    weakens: "posible como máximo",
    regions: |n| if n == 1 { "1 región".to_owned() } else { format!("{n} regiones") },
    strongest_shown: |n| format!("; se muestran las {n} más intensas"),
    weaker_dropped: |n| format!("; hasta {n} más débiles descartadas"),
    frames: |n| if n == 1 { "un fotograma".to_owned() } else { format!("media de {n} fotogramas") },
    scene_emissivity: ", con la emisividad de la escena",
    one_scale: ", una sola escala para todas las imágenes",
    at: |what, x, y| format!("{what} en {x}, {y}"),
    side: |view| format!(" ({view})"),
    ring_found: |part, percent| {
        format!("{part}: anillo encontrado, ambos bordes vistos a lo largo del {percent:.0} % de la circunferencia")
    },
    ring_not_found: |part| format!("{part}: no se encontró ningún anillo; colocarlo a mano o volver a apuntar"),
    sensor: SensorWords {
        corrected,
        defect,
        none_replaced: "ningún píxel defectuoso sustituido",
        replaced: |n, names| match n {
            1 => format!("1 píxel defectuoso sustituido: {names}"),
            _ => format!("{n} píxeles defectuosos sustituidos: {names}"),
        },
        more: |n| format!("{n} más"),
        found_by_watch: |n| format!("{n} de ellos hallados al vigilar estos fotogramas"),
        saturated: |percent| format!("hasta el {percent:.2} % de los píxeles de un fotograma saturados"),
        in_frames: |what, frames, all| format!("{what} en {frames} de {all} fotogramas"),
        drift_unknown: "deriva no cubierta por el ensayo térmico del sensor, luego temperaturas no evaluables,",
        stepped: "un salto de toda la imagen, tomado por un cierre del obturador,",
        warmth_contradicted: "indicado como estabilizado, considerado no estabilizado",
        housing_changing: "la temperatura de la carcasa todavía cambiaba",
        housing_not_known: "demasiado corto para saber si la carcasa estaba estable",
        unwatched: |view| {
            format!(
                "muy pocos fotogramas para hallar píxeles defectuosos en la imagen: {}",
                (wording::SPANISH.view)(view)
            )
        },
        noise: |mk| format!("ruido de un fotograma según los ensayos uniformes: {mk:.0} mK"),
        drift_residual: |counts| format!("el modelo de deriva deja {counts:.2} cuentas rms de su ensayo térmico"),
    },
};

fn grade(grade: Grade) -> Text {
    match grade {
        Grade::None => Text::plain("sin hallazgos"),
        Grade::Possible => (wording::SPANISH.phrase)(Phrase::Possible),
        Grade::Probable => (wording::SPANISH.phrase)(Phrase::Probable),
        Grade::Major => (wording::SPANISH.phrase)(Phrase::Major),
        Grade::NotAssessable => Text::plain("no evaluable"),
        other => (wording::SPANISH.grade)(other),
    }
}

fn sign(sign: Sign) -> &'static str {
    match sign {
        Sign::Hot => "caliente",
        Sign::Cold => "fría",
        other => other.key(),
    }
}

/// Name of a component's input.
fn component(component: Component) -> &'static str {
    match component {
        Component::Noise => "ruido, promediado",
        Component::Uniformity => "falta de uniformidad en la imagen",
        Component::Calibration => "calibración absoluta",
        Component::Slope => "pendiente de la calibración",
        Component::Drift => "deriva de nivel",
        Component::Emissivity => "emisividad",
        Component::Reflected => "temperatura aparente reflejada",
        Component::Transmittance => "transmitancia",
        Component::Medium => "temperatura del medio",
        // As in English; the test asks for the word.
        other => other.about(),
    }
}

fn defect(defect: DefectKind) -> &'static str {
    match defect {
        DefectKind::Listed => "en la lista",
        DefectKind::Dead => "muerto",
        DefectKind::Stuck => "fijo",
        DefectKind::Noisy => "ruidoso",
        DefectKind::Blinking => "intermitente",
        DefectKind::Uncorrectable => "no corregible",
        other => other.key(),
    }
}

fn corrected(correction: Correction) -> &'static str {
    match correction {
        Correction::None => "píxeles sin corregir",
        Correction::TwoPoint => "ganancia y nivel de cada píxel corregidos",
        Correction::Offsets => "nivel de cada píxel corregido",
        Correction::TwoPointAndOffsets => "ganancia y nivel de cada píxel corregidos, niveles renovados",
    }
}
