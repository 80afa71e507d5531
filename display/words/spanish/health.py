"""Spanish: words about the program's own health."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {
    # -- alarms
    "alarm_probe_doubted": "Sonda no fiable: {title}",
    "alarm_probe_doubted_missed": "Sonda no fiable: {title}",
    "alarm_probe_battery": "Batería baja: {title}",
    "alarm_probe_battery_missed": "Batería baja: {title}",
    "alarm_probe_check_due": "Toca comprobar la sonda: {title}",
    "alarm_probe_check_due_missed": "Toca comprobar la sonda: {title}",
    "alarm_probe_unwashed": "¿Se lavó? {title}",
    "alarm_probe_unwashed_missed": "¿Se lavó? {title}",
    "help_say_washed": "Lavarla, desinfectarla y decirlo en su página",
    "help_look_at_lots": "Mirar cada lote nombrado; en la duda, retenerlo avisando un problema",
    "help_check_probe": "Comprobarla en agua con hielo, o tomar otra sonda",
    "help_set_probe": "Ajustar su unidad y su hora; luego comprobarla",
    "help_swap_back": "Poner las dos sondas en su sitio, o decir dónde están",
    "help_change_battery": "Cambiar su batería",
    # -- one probe
    "last_reading": "Última lectura",
    "health_head": "¿Es fiable?",
    "battery_says": "batería {percent} %",
    "show_probe": "Ver la sonda",
    "checks_head": "Comprobaciones",
    "checks_none": "Sin comprobaciones en el registro.",
    "check_next": "Próxima comprobación {time}.",
    "check_overdue": "Comprobación pendiente desde {time}.",
    "check_when": "Cuándo",
    "check_in": "En",
    "check_read": "Marcaba la sonda",
    "check_result": "Resultado",
    "check_by": "Por",
    "check_passed": "Pasa",
    "check_failed": "No pasa",
    "check_allowed": "se admite ±{tolerance}",
    "check_source": "Tolerancia: {source}. La norma local puede pedir más.",
    "check_doubts": "En duda desde la última comprobación buena: {lots}.",
    "point_ice": "agua con hielo",
    "point_boiling": "agua hirviendo",
    "point_reference": "referencia",
    "places_head": "Dónde estuvo",
    "place_until": "hasta {time}",
    "offset_counts": "se suma {offset} a lo que mide; lo confirmó una persona",
    "offset_line": "{offset} sumado desde entonces; antes, {before}",
    "record_doubted_by": (
        "{name} no pasó su comprobación ({shown} en vez de {expected}, se admite ±{tolerance}): con ella se juzgó"
        " este lote desde su última comprobación buena"
    ),
    "record_offset": "{name}: {offset} sumado desde entonces",
    # -- acts on a probe
    "wash_head": "Lavada y desinfectada",
    "wash_asked": (
        "Estuvo en {after}, con {allergens}, y está en {lot}, que no los lleva, desde {time}. ¿Se lavó y desinfectó "
        "entre medias? Si no, retener {lot}."
    ),
    "wash_said": "Se lavó y desinfectó",
    "wash_last": "Dicho por última vez {time} por {who}.",
    "wash_never": "Aún no lo ha dicho nadie.",
    "check_head": "Comprobarla",
    "check_point": "Metida en",
    "check_ice": "Agua con hielo, removida: {celsius}",
    "check_boiling": "Agua hirviendo: {celsius} a {metres} m",
    "check_reference": "El mismo alimento o agua que un termómetro de referencia",
    "check_shown": "La sonda marca ({unit})",
    "check_reference_shown": "La referencia marca ({unit}), si la hay",
    "check_enter": "Anotar la comprobación",
    "check_how": (
        "Hielo picado apenas cubierto de agua, removido, la punta en el centro, hasta que no se mueva. Agua "
        "hirviendo: cuidado con el vapor; la presión del día la mueve hasta {degree} más o menos, así que es mejor el"
        " agua con hielo."
    ),
    "offset_head": "Corrección",
    "offset_says": (
        "Según su última comprobación, {offset} la pondría bien. No se suma nada hasta que alguien lo confirme."
    ),
    "offset_apply": "Sumar {offset} desde ahora",
    "offset_away": "Quitar la corrección",
    "assign_head": "Ponerla en otro sitio",
    "assign_where": "En el alimento de un paso, o en una máquina o cámara",
    "assign_pick": "Elegir …",
    "assign_tasks": "Pasos en marcha y próximos",
    "assign_places": "Máquinas y cámaras",
    "assign_reads": "Ahí mide",
    "assign_put": "Ponerla ahí",
    "assign_says": "Última lectura {celsius}, {time}.",
    "done_check_probe": "Comprobación anotada",
    "check_failed_says": "Comprobación anotada, y no pasa: se desvía {error}, se admite {tolerance}.",
    "check_failed_next": "Ya no se le cree: medir a mano, o tomar otra sonda.",
    "done_offset": "Corrección puesta desde ahora",
    "done_assign_probe": "Puesta ahí",
    "done_washed": "Lavada y desinfectada: registrado",
    "field_probe": "Sonda",
    "field_point": "Metida en",
    "field_shown": "Lo que marca la sonda",
    "field_reference": "Lo que marca la referencia",
    "field_offset": "Corrección",
    "field_where": "Adónde",
    "field_reads": "Alimento o aire",
    # -- health
    "health_well": "Nada malo conocido",
    "health_doubted": "No fiable",
    "health_counts_not": "No cumple objetivos ni condiciones.",
    "health_since": "desde {time}",
    "health_cannot_say": "Lo que no se puede saber",
    "sign_stuck": (
        "Marca exactamente lo mismo en {amount}, cuando debería moverse: atascada, fuera del alimento, o nada "
        "calienta ni enfría"
    ),
    "sign_noisy_scatter": "Salta {amount} de una lectura a otra; se avisa desde {limit}",
    "sign_noisy_spikes": (
        "En sus últimas 20 lecturas, {amount} se queda sola, lejos de sus dos vecinas: un contacto flojo"
    ),
    "sign_drifting": "Se ha movido {amount} frente a las otras en el mismo aire; se avisa desde {limit}",
    "sign_drifting_one of two": "Se ha movido {amount} frente a {other} en el mismo aire: una de las dos deriva",
    "sign_impossible rate": (
        "Ha saltado {amount} en sus últimas 20 lecturas, más rápido de lo que puede cambiar ahí el aire"
    ),
    "sign_unit mistaken_fahrenheit as celsius": (
        "Marca {amount}, que ahí no puede ser. Si son Fahrenheit enviados como Celsius, son {limit}: el error más"
        " probable"
    ),
    "sign_unit mistaken_celsius as fahrenheit": (
        "Marca {amount}, que ahí no puede ser. Si son Celsius enviados como Fahrenheit, son {limit}: el error más"
        " probable"
    ),
    "sign_clock wrong_ahead": "Su reloj va {amount} por delante del de la cocina",
    "sign_clock wrong_behind": "Su reloj va {amount} atrasado",
    "sign_clock wrong_stepping back": "Su reloj saltó {amount} hacia atrás",
    "sign_battery low": "Batería al {amount}; se avisa desde {limit}",
    "sign_swapped": (
        "Marca {amount} fuera de lo que su sitio debería tener; ella y {other} encajan cada una en el sitio de la otra"
    ),
    "sign_swapped_or fahrenheit as celsius": (
        "Marca {amount} fuera de lo que su sitio debería tener; ella y {other} encajan cada una en el sitio de la"
        " otra. Mira cuál está en cada sitio: o están cambiadas, o esta envía Fahrenheit como Celsius y son {limit}"
    ),
    "sign_swapped_or celsius as fahrenheit": (
        "Marca {amount} fuera de lo que su sitio debería tener; ella y {other} encajan cada una en el sitio de la"
        " otra. Mira cuál está en cada sitio: o están cambiadas, o esta envía Celsius como Fahrenheit y son {limit}"
    ),
    "sign_check failed": "Desviada {amount} en su última comprobación; se admite {limit}",
    "cannot_few readings": "Ruido: aún hay pocas lecturas",
    "cannot_never changed": "Atascada: aún no ha cambiado, así que no se conocen sus saltos",
    "cannot_not told": "Batería: esta sonda no la dice",
    "cannot_no time sent": "Reloj: esta sonda no envía hora propia",
    "cannot_alone": "Deriva: no hay otra sonda en el mismo aire; lo dice una comprobación",
    "cannot_nothing expected": "Sitio: ahora no se espera nada de ella",
    "times": "{count} veces",
}
