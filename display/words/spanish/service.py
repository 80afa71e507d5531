"""Words about the service itself in Spanish."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {
    "system": "Sistema",
    "system_well": "Todo está bien.",
    "system_amiss_one": "Una cosa necesita a alguien.",
    "system_amiss": "{count} cosas necesitan a alguien.",
    "system_not_ready": "No está listo: puede rechazar acciones hasta que se arregle.",
    "system_checks": "Se mira cada segundo",
    "system_check": "Qué",
    "system_how": "Cómo está",
    "system_ok": "bien",
    "system_look": "revisar",
    "system_trouble": "mal",
    "system_facts": "En números",
    "system_clock": "Reloj",
    "system_clock_says": "{time}, {zone}",
    "system_clock_set": "El reloj se cambió {seconds} s desde el arranque, por última vez {time}.",
    "system_clock_steady": (
        "El reloj no se cambió desde el arranque; se aparta {seconds} s de la cuenta propia del equipo."
    ),
    "system_clock_server": "Va {seconds} s por delante del servidor de la base de datos (por detrás si es negativo).",
    "system_disk": "Disco",
    "system_disk_says": "{free} libres de {total} en {place}",
    "system_disk_none": "El registro está en otro equipo: mirar allí su disco.",
    "system_record": "Registro",
    "system_record_says": "{count} asientos en {place}",
    "system_record_head": "Cabeza: {head}",
    "system_record_head_says": "Apuntar la cabeza en otro sitio: así se verá después si se cortó el final.",
    "system_record_proven": "Comprobado entero hasta el asiento {seq}, {time}.",
    "system_record_unproven": "Sin comprobar todavía: lo hace la próxima copia, o 'coldwright records verify'.",
    "system_writer": "Lo escribe {holder}, el servicio número {turns} desde que empezó el registro.",
    "system_backup": "Copias de seguridad",
    "system_backup_says": "{count} guardadas en {place}",
    "system_backup_next": "Próxima: {time}",
    "system_backup_elsewhere": "Guardar una copia en otro edificio: un disco puede perderse junto con sus copias.",
    "system_backup_off": "No se hace ninguna por sí sola: arrancar con --backups DIR.",
    "system_broker": "Bróker",
    "system_broker_heard": "Las últimas lecturas llegaron {time}.",
    "system_broker_unheard": "No llegaron lecturas desde el arranque.",
    "system_broker_none": "Arrancado sin bróker: no se oye ninguna sonda.",
    "system_probes": "Sondas",
    "system_probes_says": "Sondas: {count}; sin señal: {silent}",
    "system_rejected": "Se rechazaron {count} lecturas.",
    "system_planner": "Planificador",
    "system_planner_one": "{name}: {state}; arranques: {count}",
    "system_planner_runs": "funciona",
    "system_planner_ended": "terminado",
    "system_planner_elsewhere": "Los planes se hacen en otra parte.",
    "system_version": "Versión",
    "system_version_says": "Coldwright {version}, en marcha desde {time}",
    "system_lag": "El bucle se retrasó como mucho {seconds} s en un minuto.",
    "system_screens": "Pantallas",
    "system_screens_none": "Ninguna pantalla ha dado señales todavía.",
    "system_screens_says": (
        "Cada pantalla dice cada 15 s lo que muestra. La que no se oye durante un minuto está desfasada."
    ),
    "system_screen": "Página",
    "system_screen_state": "Cómo está",
    "system_screen_seen": "Última señal",
    "screen_shown": "muestra lo actual",
    "screen_hidden": "en segundo plano",
    "screen_silent": "callada: lo que muestra puede ser viejo",
    "screen_behind": "muestra un estado viejo, {count} asientos atrás",
    "home_system_says": "{count} por revisar",
    "unreadable": "Esto no se puede leer ahora",
    "check_pen": "Escritura",
    "check_log": "Registro",
    "check_readings": "Lecturas",
    "check_loop": "Ritmo",
    "check_broker": "Bróker",
    "check_planner": "Planificador",
    "check_clock": "Reloj",
    "check_disk": "Disco",
    "check_backup": "Copia",
    "check_proof": "Asientos antiguos",
    "check_files": "Archivos de la cocina",
    "vital_pen_held": "{holder} escribe {place}; nadie más puede.",
    "vital_pen_lost": "Este servicio no tiene ahora {place}: intenta recuperarlo.",
    "vital_log_written": "Las acciones están en el disco antes de responder.",
    "vital_log_refuses": (
        "No se puede registrar nada: {trouble}. Lo confirmado se conserva; las pantallas muestran el último estado."
    ),
    "vital_log_stands": "Una escritura no termina desde hace {seconds} s: mirar el disco.",
    "vital_readings_kept": "Las lecturas están en el disco antes de confirmarse.",
    "vital_readings_refused": (
        "No se pueden guardar lecturas: {trouble}. El bróker las conserva y las envía otra vez."
    ),
    "vital_loop_well": "Como mucho {seconds} s de retraso en un minuto.",
    "vital_loop_late": "Hasta {seconds} s de retraso en un minuto: el equipo tiene demasiado trabajo.",
    "vital_broker_linked": "Conectado a {broker}.",
    "vital_broker_away": "{broker} no responde: no se oyen las sondas. Medir a mano mientras tanto.",
    "vital_planner_well": "Sus procesos funcionan.",
    "vital_planner_dead": "{names} terminó y se está arrancando otra vez.",
    "vital_planner_nobody": (
        "Ningún planificador responde: arrancar 'coldwright worker' en un equipo que llegue a la base de datos."
    ),
    "vital_planner_fails": "Funciona, pero: {trouble}",
    "vital_clock_well": "Concuerda con el registro.",
    "vital_clock_behind": (
        "Va {seconds} s antes del último asiento: poner en hora el equipo, o las horas del registro serán falsas."
    ),
    "vital_clock_off_server": (
        "Se aparta {seconds} s del servidor de la base de datos: poner en hora el que esté mal."
    ),
    "vital_disk_well": "{free} libres en {place}.",
    "vital_disk_low": (
        "Solo {free} libres en {place}, menos de {least}: hacer sitio antes de que se rechacen acciones."
    ),
    "vital_backup_good": "La última es de {at}, comprobada buena.",
    "vital_backup_failed_since": "La última buena es de {at}; un intento posterior falló: {trouble}",
    "vital_backup_old": "La última buena es de {at}, hace más de dos días. {trouble}",
    "vital_backup_soon": "Todavía ninguna: la primera se hace dentro de una hora, en {place}.",
    "vital_backup_missing": "No hay ninguna: {trouble}",
    "vital_backup_none": "No se hace ninguna por sí sola: arrancar con --backups DIR.",
    "vital_proof_soon": "Se recorren desde el primero poco después de arrancar.",
    "vital_files_edited": (
        "Editado desde que se tomó la cocina, y no se usa: {parts}. Cambiarlo en las pantallas; lo que estas no "
        "pueden, entra con un registro nuevo (otra carpeta en --data)."
    ),
    "vital_proof_whole": "Íntegros hasta el asiento {seq}, recorridos {at}.",
    "vital_proof_changed": (
        "El asiento {seq} fue cambiado o está dañado. El trabajo sigue con lo que se sabe. Dejar la carpeta como está, "
        "no actualizar, y restaurar la última copia buena en otra carpeta: 'coldwright records restore'."
    ),
    "vital_proof_missing": (
        "Falta el asiento {seq}. El trabajo sigue con lo que se sabe. Dejar la carpeta como está, no actualizar, y "
        "restaurar la última copia buena en otra carpeta: 'coldwright records restore'."
    ),
    "vital_proof_unreadable": "No se pudieron recorrer, y se intenta otra vez: {trouble}",
}
