"""Spanish: sentences of the planner, of why and of what would help, by the English pattern, part 1 of 2."""

from collections.abc import Mapping
from typing import Final

SENTENCES: Final[Mapping[str, str]] = {
    "it is there already": "ya está ahí",
    "a new plan leaves it out: nothing waits for it": "un plan nuevo la deja fuera: nada la espera",
    "it has begun: what has happened is not moved": "ha empezado: lo que ha pasado no se mueve",
    "nothing holds it: a minute off would keep every rule": (
        "nada la sujeta: un minuto de diferencia cumpliría todas las reglas"
    ),
    "it is held in place": "está fija",
    "begins when {0} ends": "empieza cuando termina {0}",
    "ends when {0} takes it": "termina cuando {0} la toma",
    "has no place": "no tiene lugar",
    "is there until {0}": "está ahí hasta {0}",
    "it could be a minute {0}{1}, but the plan would be worse: {2}, {3} more": (
        "podría ser un minuto {0}{1}, pero el plan sería peor: {2}, {3} más"
    ),
    "a minute {0}{1}": "un minuto {0}{1}",
    "nothing holds it: {0} would keep every rule, and the plan would be no worse": (
        "nada la sujeta: {0} cumpliría todas las reglas y el plan no sería peor"
    ),
    " with {0} at it instead": " con {0} en ella",
    "{0} has begun: what has happened is not moved": "{0} ha empezado: lo que ha pasado no se mueve",
    "it is planned for now, {0}": "está prevista para ahora, {0}",
    "the planned days end {0}": "los días previstos terminan {0}",
    "{0} may not be {1} before {2}": "{0} no puede estar {1} antes de {2}",
    "{0}: {1} is not there": "{0}: {1} no está aquí",
    "{0} {1} at {2} on the {3}": "{0} {1} a las {2} en: {3}",
    ", no sooner than {0} min after it": ", como pronto {0} min después",
    "{0} follows {1}, which ends {2}{3}": "{0} sigue a {1}, que termina {2}{3}",
    "{0} follows {1} at {2}{3}": "{0} sigue a {1} a las {2}{3}",
    "no less than": "no menos de",
    "no longer than": "no más de",
    "{0} lasts {1} {2} from {3} ({4} window)": "{0} dura {1} {2} desde {3} (ventana de {4})",
    "what goes into {0} keeps until {1} ({2} window)": "lo que va a {0} se conserva hasta {1} (ventana de {2})",
    "{0} must begin within {1} of {2} ({3} window)": "{0} debe empezar dentro de {1} de {2} (ventana de {3})",
    "{0} has the {1} {2} {3}": "{0} ocupa {1} {2} {3}",
    "the {0} is stopped from {1} to {2}": "{0}: en parada de {1} a {2}",
    "the {0} of the {1} lasts from {2} to {3}": "{0} ({1}) dura de {2} a {3}",
    "with {0} {1}": "con {0}, {1}",
    "{0} of warm food would be together in the {1}": "{0} de alimento caliente estarían juntos en {1}",
    "where {0} {1} freeze at the usual pace": "donde {0} {1} se congelan al ritmo habitual",
    "{0} {1} of warm food would be together in the {2}, {3}": (
        "{0} {1} de alimento caliente estarían juntos en {2}, {3}"
    ),
    "the clean-down {0}": "la limpieza {0}",
    "other work": "otro trabajo",
    "{0} is not at work{1}, nor is anybody else with the skill {2}": (
        "{0} no trabaja{1}, ni nadie más con la habilidad {2}"
    ),
    "its food": "su alimento",
    "no room in the {0} for {1}: other food fills it": "no hay sitio en {0} para {1}: lo llena otro alimento",
    "{0} min": "{0} min",
    "it finds no place within the horizon": "no encuentra lugar en los días previstos",
    "{0} found no place beside the rest": "{0} no encontró lugar junto al resto",
    "{0} would have to start by {1}: {2} may not last longer": (
        "{0} tendría que empezar antes de {1}: {2} no puede durar más"
    ),
    "{0} waits for {1}, and would have to start by {2}": "{0} espera a {1}, y tendría que empezar antes de {2}",
    "{0} cannot start before {1}, and would have to by {2}": (
        "{0} no puede empezar antes de {1}, y tendría que hacerlo antes de {2}"
    ),
    "all from {0} to {1}, one soon after the other,": "todo desde {0} hasta {1}, una cosa poco después de otra,",
    "for {0} between {1} and {2}": "para {0} entre {1} y {2}",
    " or the ": " o ",
    "no room in the {0} {1}: other food fills it": "no hay sitio en {0} {1}: lo llena otro alimento",
    "too much warm food in the {0} {1}: it would take longer to freeze than there is": (
        "demasiado alimento caliente en {0} {1}: tardaría en congelarse más de lo que hay"
    ),
    "the {0} and people with the skill {1} are never free together {2}": (
        "{0} y personas con la habilidad {1} nunca están libres a la vez {2}"
    ),
    "it cannot be used for as long as it takes": "no se puede usar tanto tiempo como hace falta",
    "other work has it": "lo ocupa otro trabajo",
    "no time on the {0} {1}: {2}": "no hay tiempo en {0} {1}: {2}",
    "they are at other work": "están en otro trabajo",
    "too few are there for as long as it takes": "hay muy pocas durante el tiempo que hace falta",
    "not enough people with the skill {0} {1}: {2}": "no hay bastantes personas con la habilidad {0} {1}: {2}",
    "{0} cannot be ready by {1}": "{0} no puede estar listo antes de {1}",
    "{0} even alone, with every machine, person and window free: time itself is too short": (
        "{0} ni siquiera solo, con todas las máquinas, personas y ventanas libres: no alcanza el tiempo"
    ),
    "not all could be tried in time; {0} things could still stand in the way": (
        "no se pudo probar todo a tiempo; aún podrían estorbar {0} cosas"
    ),
    "not all could be tried in time": "no se pudo probar todo a tiempo",
    "not all could be tried in time; what stands in the way is among: {0}": (
        "no se pudo probar todo a tiempo; lo que lo impide está entre: {0}"
    ),
    "a plan that serves {0} well was found on the way: planning again may help": (
        "por el camino se encontró un plan que sirve bien a {0}: puede ayudar planificar de nuevo"
    ),
    " together with {0}": " junto con {0}",
    "{0}, due {1}": "{0}, para {1}",
    "{0} may not be handed over before {1}": "{0} no puede entregarse antes de {1}",
}
