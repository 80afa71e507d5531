"""Words of tokens, in Spanish."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {
    "tokens": "Claves para programas",
    "tokens_short": "Una caja, una tienda o un monitor habla con la interfaz para programas con una clave propia.",
    "tokens_open": "Ver las claves",
    "tokens_says": (
        "Un programa la envía con cada petición a {address}api/v1: «Authorization: Bearer» y la clave. Puede lo que "
        "se marque aquí y nada más; no abre ninguna página."
    ),
    "tokens_standing": "Claves que dejan entrar",
    "tokens_none": "No hay ninguna: ningún programa puede entrar.",
    "token_new": "Una clave nueva",
    "token_name": "Programa",
    "token_make": "Hacer la clave",
    "token_made": "La clave de {name}",
    "token_once": "Se muestra ahora y nunca más: copiarla en el programa antes de dejar esta página.",
    "token_no_scope": "No se hizo: no se marcó nada que pueda hacer.",
    "token_no_scope_remedy": "Marcar lo que el programa necesita y nada más.",
    "scope_read": "leerlo todo",
    "scope_orders": "traer pedidos, demanda por horas y niveles",
    "scope_act": "actuar como cocinero ante una pantalla",
    "scope_manage": "todo, como el encargado",
    "done_revoke_token": "Ese programa ya no entra.",
    "beyond_scope": "Esta clave no puede hacerlo.",
    "beyond_scope_remedy": "El encargado hace otra que lo permita, en Acceso.",
    "field_token_name": "programa",
    "field_token": "clave",
}
