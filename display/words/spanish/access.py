"""Spanish: words of the way in: pairing a screen, signing in, who may do what, and what was refused."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {
    "not_paired": "Esta pantalla no está emparejada.",
    "not_paired_remedy": "Abrir la página de emparejar y que el encargado la apruebe; lo que espera se envía entonces.",
    "pair_head": "Emparejar esta pantalla",
    "pair_says": "Decir este código al encargado, o entrar como encargado en esta pantalla. Vale {minutes} minutos.",
    "pair_where": "El encargado abre Acceso en una pantalla donde ha entrado y lo escribe allí.",
    "pair_waits": "Se espera al encargado. Esta página sigue sola.",
    "pair_over": "El código ha caducado.",
    "pair_again": "Código nuevo",
    "pair_too_often": "Desde aquí se pidieron demasiados códigos: esperar {seconds} s.",
    "pair_open": (
        "Este servicio está abierto solo en su propia máquina, en la dirección 127.0.0.1 o localhost. Antes de que "
        "otros miren, poner allí una contraseña, en Acceso."
    ),
    "pair_spare": "Usar un repuesto",
    "pair_spare_says": "¿No está el encargado? Un código de la hoja de repuestos empareja esta pantalla al momento.",
    "pair_spare_field": "Código de la hoja",
    "pair_spare_send": "Emparejar con este código",
    "spare_wrong": (
        "No es el código de un repuesto sin usar. Mirar otra vez las letras, o tomar el siguiente de la hoja."
    ),
    "spare_wait": "Demasiados códigos erróneos desde aquí: esperar {seconds} s e intentarlo otra vez.",
    "sign_in": "Entrar como encargado",
    "sign_out": "Salir",
    "sign_in_says": "Tras entrar, este navegador puede hacerlo todo durante 12 horas, o hasta salir.",
    "sign_in_field": "Contraseña",
    "sign_in_wrong": "Esa no es la contraseña.",
    "sign_in_wait": (
        "Demasiadas contraseñas erróneas: esperar {seconds} s e intentarlo otra vez. Las pantallas emparejadas "
        "siguen trabajando."
    ),
    "sign_in_lost": "¿Se ha perdido? En la propia máquina, esto pone otra:",
    "to_stations": "Seguir sin entrar",
    "may_not_viewer": "No hecho: esta pantalla solo mira.",
    "may_not_viewer_remedy": "Usar la pantalla de un puesto, o entrar como encargado.",
    "may_not_station": "No hecho: eso es del encargado.",
    "may_not_station_remedy": "Entrar como encargado en esta pantalla, o pedírselo.",
    "form_old": "No hecho: esta página se cargó antes de emparejar de nuevo la pantalla.",
    "form_old_remedy": "Cargar otra vez la página y tocar de nuevo.",
    "door_unsure": "Ahora mismo no se puede consultar quién puede entrar.",
    "door_unsure_remedy": "No se puede leer la carpeta o la base de datos del registro. Se intenta con cada toque.",
    "access": "Acceso",
    "access_demo": "Una demostración está abierta y escucha solo en esta máquina; nadie entra.",
    "access_demo_remedy": "En la cocina propia se pone aquí una contraseña antes de abrirla a la red.",
    "access_open": "No hay contraseña: quien está en esta máquina puede hacerlo todo, y nadie más llega a ella.",
    "access_open_remedy": (
        "Ponerla aquí; desde entonces cada pantalla se empareja una vez y el servicio puede abrirse a la red propia."
    ),
    "access_screens": "Pantallas",
    "access_none": "Ninguna aún.",
    "access_name": "Nombre",
    "access_place": "Dónde cuelga",
    "access_role": "Puede",
    "access_paired": "Emparejada",
    "access_seen": "Vista por última vez",
    "access_made": "Hecho",
    "access_used": "Usado",
    "access_unused": "aún no",
    "access_spare_mark": "con código de repuesto",
    "access_revoke": "No dejar entrar más",
    "access_drop": "Invalidar",
    "access_revoked": "Ya no entran: {count}",
    "access_pair": "Emparejar una pantalla",
    "access_pair_says": "Una pantalla nueva muestra un código cuando se abre por primera vez.",
    "access_code_field": "Código en la pantalla",
    "access_approve": "Dejarla entrar",
    "access_spares": "Repuestos",
    "access_spares_says": (
        "Códigos aprobados de antemano: quien tiene la hoja empareja una pantalla con uno de ellos, una vez, sin "
        "el encargado. Imprimirlos y guardar la hoja bajo llave."
    ),
    "access_made_spares": "Repuestos hechos",
    "access_count": "Cuántos",
    "access_make": "Hacer la hoja",
    "role_viewer": "solo mirar",
    "role_station": "cocinar",
    "role_manager": "todo",
    "access_codes": "Códigos personales",
    "access_codes_says": (
        "Para firmas críticas: liberar un lote retenido, pasar por alto una condición o un objetivo no alcanzado, "
        "cerrar una desviación, la corrección de una sonda, lo que llegó demasiado caliente. Se piden desde el "
        "primer código."
    ),
    "access_codes_none": "Nadie tiene: las firmas críticas no piden ninguno.",
    "access_code_since": "desde {time}",
    "access_code_lacks": "ninguno: no puede firmar",
    "access_code_set": "Poner un código",
    "access_passphrase": "Contraseña",
    "access_passphrase_now": "Contraseña actual",
    "access_passphrase_new": "Contraseña nueva",
    "access_again": "La misma otra vez",
    "access_passphrase_set": "Poner la contraseña",
    "access_passphrase_says": (
        "Al menos 12 caracteres: cuatro palabras sin relación entre sí van bien. Quienes entraron como encargado "
        "quedan fuera."
    ),
    "access_refused": "Acciones rechazadas",
    "access_refused_says": (
        "Los últimos {count}, guardados tanto como las lecturas sueltas. Los iguales de un minuto están en una "
        "línea; su número es un mínimo."
    ),
    "access_refused_csv": "Acciones rechazadas en CSV",
    "access_refused_none": "Aún no se ha rechazado nada.",
    "access_when": "Cuándo",
    "access_source": "Desde",
    "access_who": "Quién",
    "access_what": "Qué",
    "access_why": "Por qué",
    "access_as": "como {who}",
    "reason_role": "no le corresponde",
    "reason_scope": "no lo permite su clave",
    "reason_wrong_code": "código erróneo",
    "reason_wrong_passphrase": "contraseña errónea",
    "reason_bad_token": "pantalla o clave desconocida o retirada",
    "reason_rate_limit": "demasiado a menudo",
    "reason_bad_form_token": "formulario sin la marca de esta pantalla",
    "reason_foreign_site": "desde otro sitio",
    "spares_head": "Pantallas de repuesto",
    "spares_says": (
        "Guardar esta hoja bajo llave. Si una pantalla no va: abrir {address} en otra, tocar «Usar un repuesto» y "
        "escribir un código. Cada uno sirve una vez; tacharlo."
    ),
    "spares_once": "Estos códigos se muestran ahora y nunca más: imprimir la página antes de salir de ella.",
    "spares_made": "Hecha {time}",
    "code_head": "Código personal",
    "code_says": "De 4 a 6 cifras que solo sabe su dueño. Escribirlas uno mismo, sin que nadie mire.",
    "code_again": "El mismo código otra vez",
    "code_person": "Persona",
    "code_new": "Código nuevo",
    "code_manager": "La contraseña del encargado, como aprobación",
    "code_set": "Poner el código",
    "code_empty_away": "Si queda vacío, se quita el código.",
    "code_field": "Código personal",
    "code_send": "Firmar",
    "code_link": "Un código personal necesita la conexión: el toque no se guardó.",
    "code_link_remedy": "Tocar otra vez cuando haya conexión.",
    "code_differs": "No puesto: los dos códigos son distintos.",
    "code_differs_remedy": "Escribir dos veces el mismo.",
    "code_digits": "No puesto: un código tiene de 4 a 6 cifras.",
    "code_digits_remedy": "Escribir solo cifras.",
    "code_simple": "No puesto: un código así se adivina el primero.",
    "code_simple_remedy": "Tomar cifras que no sean todas iguales ni seguidas.",
    "code_nobody": "No puesto: no se eligió a nadie del equipo.",
    "code_nobody_remedy": "Elegir para quién es.",
    "passphrase_differs": "No puesta: las dos contraseñas son distintas.",
    "passphrase_differs_remedy": "Escribir dos veces la misma.",
    "passphrase_weak": "No puesta: una contraseña tiene de 12 a 200 caracteres, y no siempre los mismos pocos.",
    "passphrase_weak_remedy": "Tomar cuatro palabras sin relación entre sí.",
    "pair_unknown": "Ninguna pantalla espera con este código.",
    "pair_unknown_remedy": "Mirar otra vez la pantalla: un código vale diez minutos y sirve una vez.",
    "done_pair": "{name} puede entrar y sigue sola.",
    "done_revoke": "Esa pantalla ya no entra.",
    "done_drop_spare": "Ese repuesto ya no vale.",
    "done_passphrase": "La contraseña está puesta.",
    "done_passphrase_next": "Cada pantalla muestra ahora un código; aprobarlas aquí.",
    "done_code": "{who} tiene un código personal nuevo.",
    "done_code_away": "{who} ya no tiene código personal.",
    "field_screen_name": "nombre",
    "field_role": "qué puede hacer",
    "field_pairing_code": "código en la pantalla",
    "field_screen": "pantalla",
    "field_spare": "repuesto",
}
