//! Spanish.
//!
//! *Style.* Instructions in the infinitive, so that they address nobody as tú, usted or vos. Where Spain and America
//! differ, the word that both understand, or the second one in parentheses: "llanta" is a rim in Spain and a tire in
//! Mexico, so that it never stands alone. *Decimal point*, as the numbers beside the words have it: the rules of the
//! International System allow point and comma alike, and Spanish-speaking countries differ.

use super::packing::packed;
use super::{Language, Phrase, Text, fragments};
use crate::checks::{Condition, Kind, Role, Unit, View};
use crate::finding::{Cause, Caution, Gate, Grade, Metric, NextTest, Note, Symptom, Tag};

/// Spanish of no one country.
pub static SPANISH: Language = Language {
    key: "es",
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
    tag,
    unit: Unit::symbol,
    phrase,
};

packed! { fragments::SPANISH;

fn kind(kind: Kind) -> Text {
    match kind {
        Kind::TireLeak => "Fuga de aire del neumático",
        Kind::Brake => "Frenos, un lado frente al otro",
        Kind::Joint => "Conexión eléctrica",
        Kind::Tread => "Bandas de rodadura de un eje",
        Kind::Hub => "Rodamientos de rueda, lado con lado",
    }
}

fn set_up(kind: Kind) -> Text {
    match kind {
        Kind::TireLeak => {
            "Busca un punto frío donde sale aire. Solo se ven las fugas rápidas: la que pierde menos de unos 20 kPa al \
             día queda por debajo de lo que el calor puede mostrar.\n\
             Dejar el neumático en el aire del taller de dos a tres horas, a la sombra, seco y sin corrientes de aire. \
             Inflar como máximo a lo marcado en el flanco y esperar diez minutos. Tomar las imágenes antes de aplicar \
             jabón, que enfría al evaporarse. Mantener quieto el instrumento al menos 30 s; girar la rueda en cuatro a \
             seis pasos. Colocar un anillo en el talón, y otro en la base de la válvula con el vástago desnudo en el \
             hueco. Justo después de llenar con un compresor caliente, una fuga puede verse caliente: indicar que el \
             aire está caliente, o esperar. Si un punto permanece, dejar salir la presión y ver si desaparece. Anotar la \
             presión recién inflado: limita la pérdida."
        }
        Kind::Brake => {
            "Compara los dos frenos de un eje.\n\
             Prueba de servicio: de cinco a diez frenadas moderadas en una carretera recta y sin tráfico, y detenerse. \
             Prueba de arrastre: circular otros cinco a diez minutos sin frenar y dejar que el vehículo se detenga solo. \
             En un vehículo híbrido o eléctrico, ver que trabajen los frenos de fricción. Tomar ambos lados en menos de \
             un minuto, desde la misma distancia y con el mismo ángulo, a través de las aberturas de la rueda; apuntar \
             al mismo radio de ambos discos. Seguir hasta el eje trasero si también se quiere comparar."
        }
        Kind::Joint => {
            "Compara una conexión con su gemela y con su propio cable bajo una carga conocida.\n\
             Aplicar de tres a cinco minutos una carga estable de al menos el 40 % de la corriente a plena carga y medir \
             la corriente con una pinza amperimétrica. El metal desnudo muestra reflejos: apuntar a un trozo de cinta \
             puesto antes de dar tensión, o al cable aislado a una distancia de 10 a 20 mm del terminal. No encintar ni \
             tocar nunca un conductor con tensión."
        }
        Kind::Tread => {
            "Compara franjas, lados y sectores de las dos bandas de rodadura de un eje.\n\
             Ajustar las presiones en frío. Circular de 15 a 20 minutos a velocidad constante por una carretera recta, los \
             dos últimos kilómetros con suavidad. Tomar ambas bandas antes de 90 s desde la parada, primero el neumático \
             que más ha trabajado, cada una llenando la imagen; después girar ambas ruedas un tercio de vuelta, o mover el \
             vehículo, y tomar ambas otra vez en el mismo orden. Colocar un recuadro sobre una costilla de cada tercio de \
             la banda: a unos 25 mm del hombro interior y del exterior, y en el centro. Las ranuras de un recuadro quedan fuera, hasta dos quintos."
        }
        Kind::Hub => {
            "Compara los dos cubos de un eje.\n\
             Circular de 20 a 30 minutos a velocidad constante, no frenar en los últimos cinco kilómetros y dejar que el \
             vehículo se detenga solo. Tomar ambos lados enseguida, desde la misma distancia y con el mismo ángulo; quitar \
             el tapacubos y apuntar al hueco de la tuerca del cubo y a la campana del disco, entre el cubo y la cara \
             barrida. La elevación propia en la parada de un recorrido igual, anotada cuando estaba sano, es mejor referencia."
        }
    }
}

fn grade(grade: Grade) -> Text {
    match grade {
        Grade::None => "ninguna anomalía encontrada en lo medido abajo.",
        Grade::Possible => "DEFICIENCIA POSIBLE. Examinar más de cerca.",
        Grade::Probable => "DEFICIENCIA PROBABLE. Confirmar y después reparar.",
        Grade::Major => "DEFICIENCIA GRAVE. Actuar antes de seguir con el uso.",
        Grade::NotAssessable => "NO EVALUABLE.",
    }
}

fn symptom(symptom: Symptom) -> Text {
    match symptom {
        Symptom::NothingSeen => "Sin indicio térmico.",
        Symptom::NotAssessable => "Las imágenes no se pueden evaluar; véanse los requisitos no cumplidos.",
        Symptom::SideHotter => "Un lado está más caliente que el otro.",
        Symptom::HubHot => "Un cubo está más caliente de lo usual, o de lo que estaba cuando estaba sano.",
        Symptom::TreadCenterHotter => "La banda de rodadura está más caliente en el centro.",
        Symptom::TreadEdgesHotter => "La banda de rodadura está más caliente en ambos bordes.",
        Symptom::TreadTilted => "La banda de rodadura está más caliente en un borde, más que la del otro lado del eje.",
        Symptom::TreadSectorHotter => "La banda de rodadura está más caliente en una parte de su vuelta.",
        Symptom::ColdSpot => "Un punto está más frío que la superficie de alrededor y permanece.",
        Symptom::WarmSpot => "Un punto está más caliente que la superficie de alrededor y permanece.",
        Symptom::JointHotter => "Se genera calor en la conexión o cerca de ella.",
        Symptom::EvenlyWarm => "Se han calentado tanto la conexión como el cable.",
        Symptom::FleetingSpot => "Hubo un punto, pero no todo el tiempo.",
        Symptom::SpotWithoutPressure => {
            "Un punto difiere de la superficie de alrededor, con presión y sin ella; difícilmente es de una fuga."
        }
    }
}

fn role(role: Role) -> Text {
    match role {
        Role::Rotor => "cara del disco de freno",
        Role::Caliper => "cuerpo de la pinza de freno",
        Role::Rim => "llanta (rin) cerca del cubo",
        Role::HubCenter => "centro del cubo",
        Role::RotorHat => "campana del disco",
        Role::Tread => "banda de rodadura",
        Role::Bead => "talón",
        Role::Valve => "válvula, alrededor del vástago",
        Role::Suspect => "punto",
        Role::Surround => "superficie alrededor del punto",
        Role::TreadInner => "banda de rodadura, tercio interior",
        Role::TreadCenter => "banda de rodadura, tercio central",
        Role::TreadOuter => "banda de rodadura, tercio exterior",
        Role::Sidewall => "flanco",
        Role::Joint => "conexión",
        Role::Twin => "conexión gemela",
        Role::CableNear => "cable cerca de la conexión",
        Role::CableFar => "cable lejos de la conexión",
    }
}

fn view(view: View) -> Text {
    match view {
        View::Single => "una",
        View::Left => "lado izquierdo",
        View::Right => "lado derecho",
        View::LeftTurned => "rueda izquierda girada",
        View::RightTurned => "rueda derecha girada",
        View::RearLeft => "trasero izquierdo",
        View::RearRight => "trasero derecho",
    }
}

fn condition(condition: Condition) -> Text {
    match condition {
        Condition::AirTemperature => "temperatura del aire junto a la pieza",
        Condition::Shaded => "sin sol desde hace 30 minutos o más",
        Condition::Dry => "piezas secas",
        Condition::StillAir => "sin viento ni ventilador de más de 1 m/s",
        Condition::SameFinish => "las piezas comparadas tienen el mismo acabado",
        Condition::InstrumentWarm => "instrumento encendido desde hace cinco minutos o más",
        Condition::SinceStop => "tiempo desde la parada",
        Condition::BrakesUsed => "frenos usados repetidamente justo antes",
        Condition::BrakesUnused => "frenos sin usar en los últimos cinco minutos del recorrido",
        Condition::DriveTime => "duración del recorrido a velocidad constante",
        Condition::BaselineLeft => {
            "elevación sobre el aire de la pieza izquierda en la parada de un recorrido igual, cuando estaba sana"
        }
        Condition::BaselineRight => {
            "elevación sobre el aire de la pieza derecha en la parada de un recorrido igual, cuando estaba sana"
        }
        Condition::SoakTime => "tiempo que el neumático lleva en reposo",
        Condition::SinceInflation => "tiempo desde que se puso aire",
        Condition::Pressure => "presión manométrica",
        Condition::GoneAfterRelease => "el punto desapareció al soltar la presión",
        Condition::BareMetal => "la superficie en la que se busca es metal desnudo",
        Condition::Distance => "distancia a la pieza",
        Condition::TireVolume => "volumen interior del neumático",
        Condition::FilledPressure => "presión manométrica recién inflado",
        Condition::WarmAir => {
            "el aire recién puesto está claramente más caliente que el neumático, que lleva en reposo"
        }
        Condition::Current => "corriente durante las imágenes",
        Condition::FullCurrent => "corriente a plena carga del circuito",
        Condition::LoadTime => "tiempo que lleva puesta la carga",
        Condition::MatteSurface => "se mira sobre cinta, pintura mate o aislante",
    }
}

fn metric(metric: Metric) -> Text {
    match metric {
        Metric::Temperature => "temperatura",
        Metric::Rise => "elevación sobre el aire",
        Metric::RiseRatio => "cociente de las elevaciones sobre el aire, la mayor entre la menor",
        Metric::SideDifference => "diferencia entre los lados",
        Metric::HubOverHat => "centro del cubo menos campana del disco",
        Metric::OverBaseline => "elevación por encima de la de la pieza sana",
        Metric::SpotHeight => "altura sobre la superficie de alrededor, como se ve",
        Metric::LossAtLeast => "pérdida de presión de una fuga que da un punto así, al menos",
        Metric::LossAtMost => "mayor pérdida de presión que permite el manómetro desde el inflado",
        Metric::Tail => "cola del punto, a un lado, como la que deja un chorro",
        Metric::CenterOverEdges => "centro sobre la media de los bordes",
        Metric::EdgesOverCenter => "borde más frío sobre el centro",
        Metric::Tilt => "borde interior menos borde exterior",
        Metric::TiltDifference => "diferencia entre las inclinaciones de los dos neumáticos",
        Metric::SectorExcess => "una parte de la vuelta sobre otra, menos lo que cambió el otro lado",
        Metric::SpotDepth => "profundidad bajo la superficie de alrededor, como se ve",
        Metric::Persistence => "visto durante",
        Metric::SpotSize => "anchura del punto",
        Metric::SmallestDetectable => "punto más pequeño que se habría notado",
        Metric::LikeDifference => "diferencia entre las dos conexiones, tal como se midió",
        Metric::ProjectedRise => "elevación sobre el aire, proyectada a plena carga",
        Metric::ProjectedDifference => "diferencia entre las dos conexiones, proyectada a plena carga",
        Metric::CableDrop => "descenso a lo largo del cable, al alejarse de la conexión",
        Metric::CableRise => "elevación del cable sobre el aire, proyectada a plena carga",
        Metric::LoadShare => "parte de la corriente a plena carga",
    }
}

fn gate(gate: Gate) -> Text {
    match gate {
        Gate::ShapeMissing => "Una pieza necesaria no se colocó o no está en las imágenes.",
        Gate::ConditionMissing => "No se indicó una condición que decide.",
        Gate::Sun => "Sol sobre las piezas en los últimos 30 minutos.",
        Gate::Wet => "Las piezas están mojadas; la evaporación las enfría.",
        Gate::Wind => "El viento o un ventilador reduce a la mitad las elevaciones pequeñas.",
        Gate::BareMetal => "El metal desnudo muestra reflejos, no su temperatura.",
        Gate::FinishDiffers => "Las piezas comparadas tienen acabados distintos, luego distintas emisividades.",
        Gate::InstrumentCold => "El instrumento no se ha estabilizado térmicamente; su nivel todavía deriva.",
        Gate::ShutterBetween => "El obturador se cerró entre las imágenes; su salto es tan grande como la diferencia.",
        Gate::TooSmall => "Menos de tres píxeles de ancho: detectado, no medido.",
        Gate::InvalidPixels => "Más de un píxel de cada diez está saturado o muerto.",
        Gate::TooShort => "Las imágenes abarcan un tiempo demasiado corto.",
        Gate::NoTemperature => "La señal no corresponde a ninguna temperatura en la escena indicada.",
        Gate::RiseTooSmall => {
            "El disco más caliente está a menos de 40 K sobre el aire: los frenos apenas se han usado."
        }
        Gate::BrakeUseUnclear => "Indicar que los frenos se usaron o que no se usaron.",
        Gate::TooLate => "Demasiado tiempo desde la parada; las piezas han cambiado.",
        Gate::RimContradicts => {
            "En las llantas (rines) es al revés: los discos pueden diferir en emisividad, no en calor."
        }
        Gate::DriveTooShort => "El recorrido fue demasiado corto para calentar las piezas.",
        Gate::TreadTooCool => {
            "La banda más caliente está a menos de 5 K sobre el aire: el recorrido no hizo trabajar los neumáticos."
        }
        Gate::HubTooCool => "El cubo más caliente está a menos de 3 K sobre el aire: el recorrido no lo calentó.",
        Gate::SoakTooShort => "El neumático lleva en reposo menos de dos horas y no está a la temperatura del aire.",
        Gate::JustInflated => "Se puso aire hace menos de diez minutos y puede estar caliente.",
        Gate::PressureTooLow => "Muy poca presión para que el aire salga como un chorro frío.",
        Gate::NotSearched => "No se colocó ningún punto ni se buscó en ninguna zona.",
        Gate::AtBorder => {
            "Hay un punto en el borde de la imagen, sin alrededores con los que compararlo; volver a apuntar."
        }
        Gate::WarmAirUnclear => "Se indicó aire caliente, pero no se puso aire en los últimos 15 minutos.",
        Gate::LoadTooLow => "Circuló menos del 40 % de la corriente a plena carga.",
        Gate::LoadTooShort => "La carga estuvo puesta menos de tres minutos.",
    }
}

fn cause(cause: Cause) -> Text {
    match cause {
        Cause::BrakeDrags => "freno que no se suelta (pistón, pasadores guía, tubo flexible, falta de juego libre)",
        Cause::ParkingBrakeBinds => "freno de estacionamiento que roza",
        Cause::BrakeWeak => {
            "el freno más frío hace menos de lo que le toca (pistón o pasadores agarrotados, aire, reparto de frenada)"
        }
        Cause::WheelBearing => "rodamiento de la rueda",
        Cause::UnevenParts => "piezas desiguales (pastillas nuevas, discos distintos, falta un protector)",
        Cause::Overinflation => "demasiada presión en el neumático",
        Cause::Underinflation => "muy poca presión en el neumático, o demasiada carga sobre él",
        Cause::Misalignment => "rueda desalineada, o una pieza del eje doblada",
        Cause::BeltSeparation => "cinturón del neumático desplazado o que se separa",
        Cause::UnevenWork => {
            "un lado ha trabajado más: carga desigual, curvas, calzada con peralte, sol antes de la parada"
        }
        Cause::LeakTread => "aire que sale por la banda de rodadura o el flanco",
        Cause::LeakBead => "aire que sale por el talón",
        Cause::LeakValve => "aire que sale por la válvula",
        Cause::WaterOrReflection => "una gota de agua, o metal que refleja algo frío",
        Cause::WarmthOrReflection => "algo caliente encima o detrás, o metal que lo refleja",
        Cause::JointResistance => "resistencia alta en la conexión (floja, corroída, sucia)",
        Cause::Overload => "más corriente que la prevista para el cable",
        Cause::NeighborHeat => "calor de una pieza vecina",
        Cause::UnequalLoad => "las dos conexiones llevan corrientes distintas",
    }
}

fn test(test: NextTest) -> Text {
    match test {
        NextTest::SpinWheels => "Levantar el eje, girar ambas ruedas a mano o con un dinamómetro y comparar.",
        NextTest::OpenBleeder => {
            "Abrir el tornillo de purga: si el arrastre cesa, apunta al tubo flexible o a lo que está antes; si sigue, a \
             la pinza de freno."
        }
        NextTest::InspectCaliper => {
            "Comprobar los pasadores guía, el retroceso del pistón y el espesor de la pastilla interior frente a la \
             exterior."
        }
        NextTest::RollerTest => "Medir la fuerza de frenado de ambos lados en un frenómetro de rodillos.",
        NextTest::RepeatUnbraked => {
            "Circular de cinco a diez minutos sin frenar y repetir: el lado que sigue caliente roza."
        }
        NextTest::RockWheel => "Levantar el eje, mover la rueda por arriba y por abajo y sentir si hay holgura.",
        NextTest::ListenUnderLoad => {
            "Escuchar mientras la carga pasa de un lado a otro; girar a mano la rueda levantada con un aparato de \
             escucha."
        }
        NextTest::GaugePressure => {
            "Medir todos los neumáticos en frío y ajustarlos a lo que dice la placa del vehículo."
        }
        NextTest::TreadDepth => "Medir la profundidad del dibujo a lo ancho, en ambos neumáticos.",
        NextTest::Alignment => "Medir la alineación de las ruedas.",
        NextTest::Runout => {
            "Con la rueda libre, medir el descentrado radial y lateral y buscar un bulto o cuerdas a la vista."
        }
        NextTest::TurnAndRepeat => {
            "Girar ambas ruedas un tercio de vuelta y repetir: presión y alineación se quedan, un cinturón se mueve."
        }
        NextTest::GaugeDrop => "Medir la presión ahora y al cabo de unas horas, corregida por la temperatura.",
        NextTest::SoapSolution => "Agua jabonosa, después de tomar todas las imágenes.",
        NextTest::Immersion => "Sumergir la rueda.",
        NextTest::ReleasePressure => {
            "Soltar la presión y observar: el punto de una fuga desaparece en menos de un minuto."
        }
        NextTest::DismountTire => {
            "Desmontar el neumático e inspeccionarlo por dentro; los daños en el hombro y el flanco normalmente no se \
             pueden reparar."
        }
        NextTest::VoltageDrop => {
            "Medir la caída de tensión en la conexión bajo carga: 0.2 V por tramo de cable durante el arranque o la \
             carga de la batería (datos de servicio), a ser posible menos de 0.1 V."
        }
        NextTest::CleanAndRepeat => {
            "Desconectar la corriente, limpiar, apretar según especificación y repetir la misma imagen."
        }
        NextTest::CompareCurrents => "Medir ambos circuitos con una pinza amperimétrica y comparar sus corrientes.",
        NextTest::RepeatProperly => "Corregir lo que nombran los requisitos no cumplidos y repetir.",
    }
}

fn caution(caution: Caution) -> Text {
    match caution {
        Caution::LocalRules => {
            "Lo primero son las normas locales, los procedimientos de la empresa, las instrucciones del fabricante del \
             vehículo y la práctica de profesionales habilitados."
        }
        Caution::HotParts => "Las piezas pueden estar tan calientes que quemen; los discos alcanzan de 200 a 500 °C.",
        Caution::Lifting => {
            "Elevar solo con un elevador de capacidad suficiente, por los puntos del fabricante y con el seguro puesto; \
             no meterse nunca debajo de un vehículo apoyado solo en un gato."
        }
        Caution::BrakeDust => {
            "El polvo de frenos puede contener amianto (asbesto): no cepillar en seco ni usar aire comprimido; solo \
             limpieza húmeda o en recinto cerrado."
        }
        Caution::DoNotDrive => "No circular con el vehículo hasta que esto quede aclarado.",
        Caution::NoWaterOnRotors => "No enfriar los discos con agua.",
        Caution::Inflation => {
            "Mantenerse fuera de la trayectoria del neumático, usar una boquilla de fijación con manguera, no superar \
             nunca la presión marcada."
        }
        Caution::DamagedTire => {
            "Bulto, cuerdas a la vista o rodaje sin aire: no inflar, no circular, hacer inspeccionar el interior."
        }
        Caution::Chock => "Calzar las ruedas que quedan en el suelo.",
        Caution::DrivenWheel => "Mantenerse fuera del plano de una rueda levantada que gira con el motor.",
        Caution::BatteryGas => {
            "Las baterías desprenden hidrógeno: ni chispas ni llamas, ventilar, proteger ojos y cara."
        }
        Caution::Arcs => {
            "Quitarse las joyas; desconectar primero la masa (tierra) y conectarla la última; ninguna herramienta entre \
             los bornes; no puentear nunca un fusible."
        }
        Caution::HighVoltage => "Los cables naranjas y sus tapas son solo para personas cualificadas.",
        Caution::MovingParts => {
            "Las correas y los ventiladores pueden arrancar solos; mantener alejados manos, pelo y ropa."
        }
    }
}

fn note(note: Note) -> Text {
    match note {
        Note::NotADiagnosis => {
            "La termografía por sí sola no es un diagnóstico; el resultado vale para el momento y la carga de las \
             imágenes."
        }
        Note::LeakNotExcluded => "La ausencia de un punto frío no excluye una fuga; las fugas lentas no se ven.",
        Note::SpotUnconfirmed => {
            "El agua, el metal y las sombras tienen el mismo aspecto; solo un punto que se va con la presión es de una \
             fuga."
        }
        Note::WarmSpotUnconfirmed => {
            "La huella de una mano, una lámpara y el metal tienen el mismo aspecto; solo un punto que se va con la presión es de una fuga."
        }
        Note::DragTolerance => {
            "El arrastre permitido puede dar por sí solo una diferencia de 20 a 40 K tras una vía rápida."
        }
        Note::EitherSide => {
            "Después de frenar, el lado caliente puede ser el que está bien; el calor por sí solo no dice qué lado \
             falla."
        }
        Note::Regeneration => "El frenado regenerativo oculta el calor de fricción en vehículos híbridos y eléctricos.",
        Note::BearingNotExcluded => {
            "La ausencia de calor no absuelve a un rodamiento ruidoso; el daño incipiente se oye antes de calentar un cubo."
        }
        Note::NewBearing => "Un rodamiento nuevo o recién engrasado va caliente durante horas y luego se asienta.",
        Note::HubWarmedByBrake => "Calor que no viene claramente del centro del cubo: un freno también lo calienta.",
        Note::LittleTreadHeat => {
            "Las carreteras rectas dan poco calor; una banda uniforme no prueba que la presión sea correcta."
        }
        Note::NotTurned => "Sin imágenes de ambas ruedas giradas, no se buscó una parte caliente de la vuelta.",
        Note::PartOfTurnOnly => "Solo se compararon las partes de la vuelta que se ven en las imágenes.",
        Note::RimTakesHeat => {
            "La llanta (rin) recibe calor del freno: sigue al disco con minutos de retraso, muestra menos y se lee con \
             más seguridad."
        }
        Note::FrontAxleHotter => {
            "El eje delantero hace la mayor parte del frenado; los ejes no se compararon entre sí."
        }
        Note::AxleTooCool => "Un eje estaba a menos de 40 K sobre el aire y no se comparó.",
        Note::PlantBands => {
            "Las bandas están escritas para equipos de edificios e instalaciones; para vehículos son un marco, no una \
             ley."
        }
        Note::Projected => "Los valores se proyectaron a la corriente a plena carga con un exponente de 1.6 a 2.0.",
        Note::Undecided => "La incertidumbre alcanza un grado más alto; la medición no puede decidir.",
    }
}

fn tag(tag: Tag) -> Text {
    match tag {
        Tag::Read => "leído",
        Tag::Memory => "de memoria",
        Tag::CommonPractice => "práctica común",
        Tag::Derived => "derivado",
        Tag::Proposal => "propuesta",
    }
}

fn phrase(phrase: Phrase) -> Text {
    match phrase {
        Phrase::Evidence => "Medido (± es la incertidumbre expandida, k = 2):",
        Phrase::Gates => "Requisitos no cumplidos:",
        Phrase::Causes => "Causas sospechadas, la más probable primero:",
        Phrase::Tests => "Comprobar a continuación:",
        Phrase::Cautions => "Precaución:",
        Phrase::Notes => "Nota:",
        Phrase::Limits => "Límites:",
        Phrase::Possible => "posible",
        Phrase::Probable => "probable",
        Phrase::Major => "grave",
        Phrase::Conditions => "Indicar, y ver que se cumpla:",
        Phrase::Pictures => "Imágenes:",
        Phrase::FurtherPictures => "; si se desea: ",
        Phrase::AimAt => "Apuntar y colocar:",
        Phrase::Required => "se necesita",
        Phrase::Optional => "si se ve",
        Phrase::Searched => "zona en la que buscar; se necesita una de estas, salvo que el punto se coloque a mano",
        Phrase::AtLeast => "al menos",
        Phrase::AtMost => "como máximo",
        Phrase::MustBeYes => "debe cumplirse",
        Phrase::MustBeNo => "no debe darse",
        Phrase::Unless => ", salvo ",
        Phrase::OrElse => "o esto, o bien",
        Phrase::IfKnown => "si se conoce",
        Phrase::Stated => "debe indicarse",
        Phrase::ElseNotAssessable => "; si no, no evaluable",
        Phrase::ElseWeaker => "; si no, \"posible\" como máximo",
    }
}

}
