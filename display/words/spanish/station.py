"""Spanish: words of what a station's screen does besides showing: taps that wait, lock, sound, sheets, hand-over."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {
    # -- taps that wait for the link
    "tap_kept": "Guardado {time}: {what}.",
    "tap_kept_says": "Se envía solo al volver la conexión, con esta hora.",
    "tap_waits": "{what}: tocado {time}, aún sin enviar.",
    "tap_waits_short": "aún sin enviar",
    "tap_drop": "Retirar",
    "tap_read": "Leído, quitar",
    "tap_unanswered": "El servidor no responde a este toque.",
    "taps_wait": "{count} sin enviar",
    "taps_kept": "{count} sin enviar, hasta volver la conexión: {what}",
    "taps_sent": "Toques enviados: {count}, cada uno con su hora",
    "taps_refused": "No aceptado: {count}",
    "taps_refused_says": "Tocar «no aceptado» para leer por qué.",
    "taps_title": "Toques sin enviar",
    "taps_says": "Se envían en este orden, una sola vez, con la hora en que se tocaron.",
    "not_kept": "El navegador no tiene sitio para guardarlo: apuntar en papel.",
    "last_heard": "Última lectura {time}: {celsius}",
    # -- somebody was quicker
    "other_started": "{who} lo empezó a las {time}.",
    "other_finished": "{who} lo terminó a las {time}.",
    "other_skipped": "{who} lo omitió a las {time}.",
    "other_tray": "{who} sacó la bandeja {number} a las {time}.",
    "other_extended": "{who} añadió tiempo a las {time}.",
    "counted_once": "Nada se cuenta dos veces.",
    "changed_here": "{title} acaba de cambiar aquí. Mirar antes de tocar.",
    # -- method
    "step_at": "{number} de {count}:",
    "step_back": "Paso anterior",
    "step_on": "Paso siguiente",
    # -- lock for wiping
    "lock_now": "Limpiar",
    "lock_title": "Bloqueada para limpiar.",
    "lock_opens": "Se abre sola en {seconds} s. Las alarmas se siguen viendo.",
    "lock_hold": "Mantener 2 s para abrir",
    # -- sound and screen
    "screen_title": "Esta pantalla",
    "sound_on": "Con sonido",
    "sound_off": "Sin sonido",
    "sound_blocked": "Sin sonido, tocar",
    "sound_none": "Aquí no suena",
    "sound_setting": "Sonido",
    "volume": "Volumen",
    "try_alarm": "Probar: alarma",
    "try_closing": "Probar: se cierra",
    "try_due": "Probar: toca empezar",
    "sound_says": "Alarma: tres notas que bajan, cada 10 s hasta verla. Se cierra: dos iguales. Toca empezar: una.",
    "wake_on": "La pantalla no se apaga.",
    "wake_none": "Este navegador no la mantiene encendida aquí: quitar el apagado en los ajustes del aparato.",
    "wake_refused": "El aparato deja que se apague (batería, ahorro): enchufar, o quitar el apagado en sus ajustes.",
    "reload_kept": "Sin conexión se puede volver a cargar esta pantalla: guarda su último estado.",
    "reload_not_kept": (
        "Sin conexión guarda los toques, pero no se puede volver a cargar: los navegadores solo guardan páginas por "
        "https o en la propia máquina."
    ),
    "full_fill": "Usar toda la pantalla",
    "full_leave": "Salir de pantalla completa",
    # -- hand-over
    "shift_ends": "Relevo a las {time}",
    "shift_ended": "Dar relevo: {time}",
    "handover_read": "Leer el relevo",
}
