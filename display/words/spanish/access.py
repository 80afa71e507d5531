"""El acceso: emparejar una pantalla, entrar, quién puede hacer qué y qué se rechazó."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {
    "not_paired": "Esta pantalla no está emparejada.",
    "not_paired_remedy": "Abrir la página de emparejar y que el encargado la apruebe; lo que espera se envía entonces.",
    "pair_head": "Emparejar esta pantalla",
    "sign_in": "Entrar como encargado",
    "may_not_viewer": "No hecho: esta pantalla solo mira.",
    "may_not_viewer_remedy": "Usar la pantalla de un puesto, o entrar como encargado.",
    "may_not_station": "No hecho: eso es del encargado.",
    "may_not_station_remedy": "Entrar como encargado en esta pantalla, o pedírselo.",
    "form_old": "No hecho: esta página se cargó antes de emparejar de nuevo la pantalla.",
    "form_old_remedy": "Cargar otra vez la página y tocar de nuevo.",
    "door_unsure": "Ahora mismo no se puede consultar quién puede entrar.",
    "door_unsure_remedy": "No se puede leer la carpeta o la base de datos del registro. Se intenta con cada toque.",
}
