"""Spanish: sentences of acts and of why they are refused, by the English pattern, part 3 of 3."""

from collections.abc import Mapping
from typing import Final

SENTENCES: Final[Mapping[str, str]] = {
    "a stay has no length": "un reposo no tiene duración propia",
    "{0} needs {1} min longer": "{0} necesita {1} min más",
    "no lot of its own": "no tiene lote propio",
    "report it at the lot's step": "avisar en el paso del lote",
    "{0}: {1} °C by hand, never above {2} °C": "{0}: {1} °C a mano, nunca por encima de {2} °C",
    "{0}: {1} °C by hand, limit broken: {2}": "{0}: {1} °C a mano, límite incumplido: {2}",
    "{0} was imported already": "{0} ya se había importado",
    "begin with an empty record to import another kitchen": "empezar con un registro vacío para importar otra cocina",
    "first plan": "primer plan",
    "; and {0} more": "; y {0} más",
    "a plan made from present facts": "un plan hecho con los datos de ahora",
    "no plan waits": "no espera ningún plan",
    "plan {0} waits instead": "espera en su lugar el plan {0}",
    "decide about plan {0}": "decidir sobre el plan {0}",
    "plan {0}": "plan {0}",
    "no plan finds a place for its next step in time": "ningún plan encuentra a tiempo un lugar para su siguiente paso",
    "asked for": "pedido a mano",
    "last instants": "últimos instantes",
    "of plan {0}, while plan {1} is worked by": "del plan {0}, mientras se trabaja con el plan {1}",
    "those of the adopted plan": "los del plan adoptado",
    "FDA Food Code 2022, 4-203.11": "FDA Food Code 2022, 4-203.11",
    "a probe of this kitchen": "una sonda de esta cocina",
    "no such probe": "no existe esa sonda",
    "to answer for the probe": "para responder de la sonda",
    "the reference's reading is missing": "falta la lectura de la referencia",
    "write down what the reference thermometer showed": "anotar lo que marcaba el termómetro de referencia",
    "check it first, in ice water or boiling water": "comprobarla primero, en agua con hielo o hirviendo",
    "no check since the last offset": "no hay comprobación desde la última corrección",
    "the last check asks for {0} °C": "la última comprobación pide {0} °C",
    "look at the check again": "mirar de nuevo la comprobación",
    "it is off by more than {0} °C": "se desvía más de {0} °C",
    "take another probe": "tomar otra sonda",
    "it has no offset": "no tiene corrección",
    "nothing: it is as it is": "nada: está como está",
    "{0} has no temperatures that its air is kept at": "{0} no tiene temperaturas a las que se mantenga su aire",
    "put it into the food there": "ponerla en el alimento que hay allí",
    "it goes to one place": "va a un solo lugar",
    "name a task, or a machine or store": "nombrar una tarea, o una máquina o cámara",
    "it is done on no machine": "no se hace en ninguna máquina",
    "a task of the plan on a machine": "una tarea del plan en una máquina",
    "a task that is not over": "una tarea que no haya terminado",
    "to be here": "para estar aquí",
    "to leave": "para irse",
    "who writes or tries it": "para escribirlo o probarlo",
    "has not said that they are here": "no ha dicho que esté aquí",
    "it would be the next revision of {0}": "sería la revisión siguiente de {0}",
    "the id {0}": "el id {0}",
    "another id, or a change of that recipe": "otro id, o un cambio de esa receta",
    "there is a recipe of that id already": "ya hay una receta con ese id",
    "draft {0}": "borrador {0}",
    "its trial lies in the future": "su prueba está en el futuro",
    "when it was made": "cuándo se hizo",
    "has become another since this was shown": "ha cambiado desde que se mostró esto",
    "look at it again": "mirarlo de nuevo",
    "an amount in {0}": "una cantidad en {0}",
    "the draft writes it in {0}": "el borrador lo escribe en {0}",
    "trial of draft {0}": "prueba del borrador {0}",
    "was tried as a change of revision {0}, and {1} is in use by now": (
        "se probó como cambio de la revisión {0}, y ahora se usa la {1}"
    ),
    "compare both, write the draft on and try it again": "comparar ambas, seguir el borrador y probarlo de nuevo",
    "it is not what was tried": "no es lo que se probó",
    "the recipe as written or as used in that trial": "la receta como está escrita o como se usó en esa prueba",
    "who reworks it": "para reprocesarlo",
    "discard it": "desecharlo",
    "it was to be used by {0}": "había que usarlo antes de {0}",
    "a batch that has them, or ask {0}: labels and clean-downs change": (
        "un lote que los tenga, o preguntar a {0}: cambian etiquetas y limpiezas"
    ),
    "{0} was reworked into {1}": "{0} se reprocesó en {1}",
    "past its use-by": "pasado de su fecha de caducidad",
    "discard lot {0}": "desechar el lote {0}",
    "{0} went into {1}, with its date": "{0} se usó en {1}, con su fecha",
    "nobody has decided to rework it": "nadie ha decidido reprocesarlo",
    "a lot on hold, decided to be reworked": "un lote retenido que se haya decidido reprocesar",
    "{0} {1} of it are left": "quedan {0} {1}",
    "an amount above 0 and no more than that, in {0}": "una cantidad mayor que 0 y no más que eso, en {0}",
    "no such batch": "no existe ese lote",
    "on hold or gone": "retenido o ya no está",
    "a batch that is being made": "un lote que se esté haciendo",
    "{0} is on {1}": "{0} está en {1}",
    "finish the task before it: the stay begins at that instant": (
        "terminar la tarea anterior: el reposo empieza en ese instante"
    ),
    "a stay begins by itself": "un reposo empieza solo",
    "its turn has not come: {0} ({1}) is {2}": "no le ha llegado el turno: {0} ({1}) está {2}",
    "finish {0} ({1}) first": "terminar antes: {0} ({1})",
    "measure the food by hand, or wait until the gate is met: a safety step may not start before": (
        "medir a mano el alimento, o esperar a que se cumpla la condición de inicio: un paso de seguridad no puede "
        "empezar antes"
    ),
    "wait until the gate is met: a safety step may not start before": (
        "esperar a que se cumpla la condición de inicio: un paso de seguridad no puede empezar antes"
    ),
    "to have checked the gate": "para haber revisado la condición de inicio",
    "measure by hand, look and say that you checked it": "medir a mano, mirar y decir que se ha revisado",
    "wait until the gate is met": "esperar a que se cumpla la condición de inicio",
    ", or name a person and a reason": ", o dar una persona y un motivo",
    "{0}: no reading": "{0}: sin lectura",
    "{0} must follow by {1}, but {2} is not free before {3}": (
        "{0} debe seguir antes de {1}, pero {2} no queda libre hasta {3}"
    ),
    "start from {0} on, or free {1} sooner": "empezar desde {0}, o liberar antes {1}",
    "{0}: the lot would go past its safety limit and on hold": (
        "{0}: el lote pasaría su límite de seguridad y quedaría retenido"
    ),
    "{0}; or name a person and a reason: the lot would miss its quality window": (
        "{0}; o dar una persona y un motivo: el lote perdería su ventana de calidad"
    ),
    "{0} must be in {1} by {2}, and this would keep it until {3}": (
        "{0} debe estar en {1} antes de {2}, y esto lo ocuparía hasta {3}"
    ),
    "quality window": "ventana de calidad",
    "safety limit": "límite de seguridad",
    "start from {0} on; or name a person and a reason: the lot of {1} would miss its {2}": (
        "empezar desde {0}; o dar una persona y un motivo: el lote de {1} perdería su {2}"
    ),
    "its window opens {0}": "su ventana abre {0}",
    "wait until {0}: a safety window may not be cut short": "esperar hasta {0}: una ventana de seguridad no se acorta",
    "to start early": "para empezar antes",
    "wait until {0}, or name a person and a reason": "esperar hasta {0}, o dar una persona y un motivo",
    "its safety window closed {0}": "su ventana de seguridad cerró {0}",
    "{0}: its target is expected {1}": "{0}: su objetivo se espera para {1}",
    " of {0} °C": " de {0} °C",
    "the ceiling{0} was passed {1}": "se pasó del tope{0} {1}",
    "cooling: {0}": "enfriamiento: {0}",
    "{0} was taken to be back by now; nobody has said": "se dio por hecho que {0} había vuelto; nadie lo ha dicho",
    "{0}: longer than its safety limit, {1}": "{0}: más tiempo que su límite de seguridad, {1}",
    "{0} did not follow by its safety limit, {1}": "{0} no siguió dentro de su límite de seguridad, {1}",
    "{0} did not begin within the life of {1}, {2}": "{0} no empezó dentro de la vida de {1}, {2}",
    "to choose it": "para elegirlo",
    "act {0}": "acción {0}",
    "to take it back": "para deshacerlo",
    "not among the latest 50 acts": "no está entre las últimas 50 acciones",
    "put right what it did by another act": "corregir con otra acción lo que hizo",
    "done {0}": "hecho {0}",
    "only acts of the last 30 min can be taken back": "solo se deshacen acciones de los últimos 30 min",
    "take that back first": "deshacer eso primero",
    "an act on {0} was taken back": "se deshizo una acción sobre {0}",
    "{0} has a later entry: {1}": "{0} tiene una entrada posterior: {1}",
    "lot {0} was decided about since": "se ha decidido sobre el lote {0} desde entonces",
    "{0} has begun since": "{0} ha empezado desde entonces",
    "{0} is on {1} by now": "{0} está ya en {1}",
    "set the computer's clock right, or end it once it is that late again": (
        "poner en hora el reloj del ordenador, o terminarlo cuando vuelva a ser esa hora"
    ),
    "to have looked it through": "como quien lo revisó",
    "nothing is on its record yet": "aún no hay nada en su registro",
    "look it through once it is begun": "revisarlo cuando esté empezado",
    "{0} may read it, not sign that it was looked through": "{0} puede leerlo, no firmar que se revisó",
    "event {0} is not on record yet: the last one is {1}": "el suceso {0} aún no consta: el último es el {1}",
    "no such delivery": "no existe esa entrega",
    "a task of the present plan, and a delivery of an ingredient that it takes": (
        "una tarea del plan actual, y una entrega de un ingrediente que use"
    ),
    "no ingredient": "ningún ingrediente",
    "it does not take {0} in {1}": "no usa {0} en {1}",
    "a lot of {0}": "un lote de {0}",
    "lot {0} was to be used by {1}": "el lote {0} debía usarse antes de {1}",
    "another lot; if this one went in, put what was made on hold": "otro lote; si este entró, retener lo que se hizo",
    "give its step reduce_to in the recipe, or report a problem": (
        "dar a su paso reduce_to en la receta, o avisar de un problema"
    ),
    "it is not followed by weight": "no se sigue por el peso",
    "{0} kg is more than it weighed first, {1} kg": "{0} kg es más de lo que pesó primero, {1} kg",
    "weigh without the pan, as the first time; was the first weight wrong, take that back": (
        "pesar sin la olla, como la primera vez; si el primer peso era erróneo, deshacerlo"
    ),
    "{0}: its weight is expected {1}": "{0}: su peso se espera para {1}",
}
