"""Spanish: sentences of the rules that a plan keeps, by the English pattern."""

from collections.abc import Mapping
from typing import Final

SENTENCES: Final[Mapping[str, str]] = {
    "{0}: {1} is not {2} {3}, what scale {4} less losses gives": (
        "{0}: {1} no es {2} {3}, lo que da la escala {4} menos mermas"
    ),
    "batch size": "tamaño de lote",
    "{0}: {1} is not between {2} and {3}": "{0}: {1} no está entre {2} y {3}",
    "{0} serves {1}, but there is no such lot": "{0} sirve a {1}, pero no existe ese lote",
    "{0} holds {1}, yet {2} {3} of it are promised": "{0} tiene {1}, pero se han prometido {2} {3} de él",
    "{0} takes {1} of {2}, and {3} are pegged to it": "{0} usa {1} de {2}, y le están asignados {3}",
    "{0} wants {1} of {2}, and {3} are pegged to it": "{0} pide {1} de {2}, y le están asignados {3}",
    "held lot": "lote retenido",
    "{0} waits, but {1} is on hold or lost": "{0} espera, pero {1} está retenido o perdido",
    "{0} takes from {1}, which is on hold or lost": "{0} toma de {1}, que está retenido o perdido",
    "{0} is promised food of {1}, which is on hold or lost": (
        "a {0} se le promete alimento de {1}, que está retenido o perdido"
    ),
    "{0} does not declare {1}": "{0} no declara {1}",
    "another base": "otra base",
    "drops {0}": "quita {0}",
    "{0}: {1} ends {2}, {3} starts {4} ({5}): needs a clean-down of {6} min between, has {7}": (
        "{0}: {1} termina {2}, {3} empieza {4} ({5}): hace falta una limpieza de {6} min entre medias, hay {7}"
    ),
    "its {0} colour": "su color {0}",
    "{0} is a {1}, which {2} does not have": "{0} es {1}, que {2} no tiene",
    "{0} must be attended throughout by one with the skill {1}": (
        "{0} necesita todo el tiempo a alguien con la habilidad {1}"
    ),
    "{0} lasts {1} min; {2} needs {3} for a {4}": "{0} dura {1} min; {2} necesita {3} para {4}",
    "{0} needs hands {1}, but has them {2}": "{0} necesita manos {1}, pero las tiene {2}",
    "{0} from {1} needs {2} hands and has {3}": "{0} desde {1} necesita {2} manos y tiene {3}",
    "{0}: there is no {1} in the crew": "{0}: no hay {1} en el equipo",
    "{0} needs the skill {1}, which {2} has not": "{0} necesita la habilidad {1}, que {2} no tiene",
    "{0} needs {1} from {2} to {3}": "{0} necesita a {1} de {2} a {3}",
    "{0}, outside any shift": "{0}, fuera de cualquier turno",
    "{0}, across a break": "{0}, durante una pausa",
    "{0} would be at {1} and {2} at once, from {3}": "{0} estaría en {1} y en {2} a la vez, desde {3}",
    "two things at once": "dos cosas a la vez",
    "{0} is given up, but is no batch of the plan before": (
        "{0} se da por perdido, pero no es un lote del plan anterior"
    ),
    "has no work left": "no le queda trabajo",
    "has not begun": "no ha empezado",
    "{0} is given up, but {1}: it is left out, or kept": (
        "{0} se da por perdido, pero {1}: se deja fuera, o se conserva"
    ),
    "{0} is given up, but what is left of it could stay where it was": (
        "{0} se da por perdido, pero lo que queda de él podría seguir donde estaba"
    ),
    (
        "{0} has {1} min in the {2}, where {3} of warm food are together and {4} freeze at the usual "
        "pace: it needs {5} min"
    ): (
        "{0} tiene {1} min en {2}, donde hay juntos {3} de alimento caliente y {4} se congelan al ritmo "
        "habitual: necesita {5} min"
    ),
    "is done": "se hace",
    "{0} {1} {2}, after the life of {3} ends": "{0} {1} {2}, después de que acabe la vida útil de {3}",
    "shelf life": "vida útil",
    "{0} needs a {1} and has {2}": "{0} necesita: {1}, y tiene: {2}",
    "equipment kind": "tipo de equipo",
    "{0} needs a {1}; {2} is a {3}": "{0} necesita: {1}; {2} es: {3}",
    "{0} loads {1}; {2} takes {3}": "{0} carga {1}; {2} admite {3}",
    "{0} loads {1}; {2} needs {3}": "{0} carga {1}; {2} necesita {3}",
    "there is no {0}": "no existe {0}",
    "{0} and {1} are both on {2} from {3}": "{0} y {1} están a la vez en {2} desde {3}",
    "double booked": "ocupado dos veces",
    "{0} for {1} min": "{0} durante {1} min",
    "{0} would hold {1} of {2} at {3}": "{0} contendría {1} de {2} a las {3}",
    "from {0} to {1}": "de {0} a {1}",
    "{0} is on {1}, which is stopped {2}": "{0} está en {1}, que está en parada {2}",
    "{0} is on {1}, in maintenance {2}": "{0} está en {1}, en mantenimiento {2}",
    "{0} has no outlook": "{0} no tiene previsión",
    "{0} is unmet without a reason": "{0} queda sin cumplir sin motivo",
    "{0} is called met, but nothing is made for it": "{0} se da por cumplido, pero no se hace nada para él",
    "{0} is ready {1}, not {2}": "{0} está listo {1}, no {2}",
    "{0} is {1} min late, not {2}": "{0} va {1} min tarde, no {2}",
    "{0} has {1} min to spare, not {2}": "{0} tiene {1} min de margen, no {2}",
    "{0} is handed over {1}, before {2}": "{0} se entrega {1}, antes de {2}",
    "{0} is taken {1}, after its use-by {2}": "{0} se toma {1}, después de su caducidad {2}",
    "{0} {1} is there {2} times": "{0} {1} está {2} veces",
    "the plan ends {0}, after {1}": "el plan termina {0}, después de {1}",
    "{0} at {1} lies outside the plan": "{0} en {1} queda fuera del plan",
    "{0}: there is no recipe {1}": "{0}: no existe la receta {1}",
    "{0} is of revision {1} of {2}, and nobody has begun it": (
        "{0} es de la revisión {1} de {2}, y nadie lo ha empezado"
    ),
    "{0}: revision {1} holds": "{0}: vale la revisión {1}",
    "{0} ({1}) is missing": "falta {0} ({1})",
    "{0} has begun, and {1} is no longer planned": "{0} ha empezado, y {1} ya no está previsto",
    "begun batches keep their remaining steps": "los lotes empezados conservan los pasos que les quedan",
    "attended portions": "partes con manos",
    "{0}: revision is {1}, its batch is of {2}": "{0}: la revisión es {1}, su lote es de la {2}",
    "{0}: {1} is {2}, the recipe says {3}": "{0}: {1} es {2}, la receta dice {3}",
    "{0} loads {1} of {2} {3}": "{0} carga {1} de {2} {3}",
    "{0}: duration is {1}, it began with {2}": "{0}: la duración es {1}, empezó con {2}",
    "{0}: duration is {1}, the recipe says {2}": "{0}: la duración es {1}, la receta dice {2}",
    "{0} is {1} in {2} min, the recipe says {3} min": "{0} es {1} en {2} min, la receta dice {3} min",
    "{0} is at {1}; it belongs to {2}": "{0} está en {1}; le corresponde {2}",
    ", at most {0} min": ", como mucho {0} min",
    "{0} must follow {1} by at least {2} min{3} ({4})": "{0} debe seguir a {1} al menos {2} min después{3} ({4})",
    "{0} is not the stay that the recipe writes": "{0} no es el reposo que escribe la receta",
    "{0} loads {1}; its share is {2} {3}": "{0} carga {1}; su parte es {2} {3}",
    "{0} ends {1}, before it starts": "{0} termina {1}, antes de empezar",
    "{0} {1} lasts {2} min; it needs {3} to {4} min": "{0} {1} dura {2} min; necesita de {3} a {4} min",
    "{0} follows {1}, which is not in the plan": "{0} sigue a {1}, que no está en el plan",
    "{0} ends {1}, {2} starts {3}": "{0} termina {1}, {2} empieza {3}",
    "{0}: it may not start before the other has ended": "{0}: no puede empezar antes de que termine lo otro",
    "{0}: a stay joins its neighbours without a gap": "{0}: un reposo enlaza con sus vecinos sin hueco",
    "too early": "demasiado pronto",
    "too late": "demasiado tarde",
    "{0} at {1} is {2} min {3} ({4} limit {5})": "{0} en {1} va {2} min {3} (límite de {4} {5})",
    "safety window": "ventana de seguridad",
    "{0} and is not named among the plan's breaks": "{0} y no está entre los incumplimientos que nombra el plan",
    "{0} ends {1} but {2} takes it at {3}": "{0} termina {1} pero {2} la toma {3}",
    "{0} is a stay without bounds": "{0} es un reposo sin límites",
    "{0} is taken by nobody, yet leaves its place at {1}": "a {0} no la toma nadie, pero deja su lugar {1}",
    "{0} has not begun, yet is placed at {1}, in the past": "{0} no ha empezado, pero está puesta en {1}, en el pasado",
    "{0} is in hand, yet ends {1}, in the past": "{0} está en marcha, pero termina {1}, en el pasado",
    "takes {0} at {1}": "usa {0} a las {1}",
    "{0} {1}, which is {2} {3}": "{0} {1}, y está {2} {3}",
    "work before {0} takes {1} of {2}, ": "el trabajo antes de {0} usa {1} de {2}, ",
    "{0}{1} {2} is there": "{0}hay {1} {2}",
    "{0} is {1}, yet missing from the plan": "{0} está {1}, pero falta en el plan",
    "{0} began {1}, yet stands at {2}": "{0} empezó {1}, pero figura {2}",
    "{0} ends {1} in fact, yet {2} in the plan": "{0} termina de hecho {1}, pero {2} en el plan",
    "{0} is on {1}, yet the plan says {2}": "{0} está en {1}, pero el plan dice {2}",
    "held in place": "fija",
    "{0} is held in place, yet gone": "{0} está fija, pero ha desaparecido",
    "{0} is held at {1}, yet moved to {2}": "{0} está fija en {1}, pero se movió a {2}",
    "{0}: a safety window may not be among the breaks": (
        "{0}: una ventana de seguridad no puede estar entre los incumplimientos"
    ),
    "{0} after {1}: not in the plan": "{0} después de {1}: no está en el plan",
    "{0} after {1} is not {2} min {3}": "{0} después de {1} no va {2} min {3}",
    "has not run": "no ha funcionado",
    "last ran or was pre-cooled until {0}": "funcionó o se preenfrió por última vez hasta {0}",
    "{0} starts {1} on {2}, which {3}: it must be cold": "{0} empieza {1} en {2}, que {3}: debe estar fría",
    "{0} has no day-end clean after {1} on {2} before {3}": (
        "{0} no tiene limpieza de fin de día después de {1} el {2} antes de {3}"
    ),
    "day-end clean": "limpieza de fin de día",
    "{0} does not wait for {1}, which gets {2} ready for it": "{0} no espera a {1}, que le prepara {2}",
    "{0} does not wait for {1}, which is on {2} before it": "{0} no espera a {1}, que está antes en {2}",
    "{0} would be in use for {1} min from {2} to {3}, without a thorough clean": (
        "{0} estaría en uso {1} min de {2} a {3}, sin limpieza a fondo"
    ),
    "hygiene clean": "limpieza de higiene",
}
