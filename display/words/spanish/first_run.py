"""Spanish: words of the first run: what a new kitchen has, lacks and does next."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {
    "first_run": "Primeros pasos",
    "first_no_folder": "No se nombró ninguna carpeta de cocina. Crear una y empezar con ella:",
    "first_says": "Esto es lo que tiene la carpeta {folder}, y lo que falta para un primer plan.",
    "first_taken_over": (
        "{kitchen} está en marcha. Desde ahora manda el registro: los cambios se hacen en las pantallas. De los "
        "archivos se releen en cada arranque a quién se avisa, ingredientes, precios y traducciones; la página Sistema "
        "nombra los demás cambios, que no se usan."
    ),
    "first_there": "hay {count}",
    "first_missing": "ninguno todavía",
    "first_faults": "{count} por corregir",
    "first_stations": "Puestos",
    "first_stations_says": "Donde está un cocinero ante una pantalla: en stations: de",
    "first_equipment": "Máquinas y almacenes",
    "first_equipment_says": "Fuegos, mantecadora, nevera, congelador, cada uno con su capacidad:",
    "first_crew": "Equipo",
    "first_crew_says": "Personas por función, qué saben hacer y sus turnos:",
    "first_recipes": "Recetas",
    "first_recipes_says": "Un archivo por producto o elaboración:",
    "first_orders": "Pedidos",
    "first_orders_says": "Qué se pide y cuándo se entrega; el primero también se puede añadir aquí después:",
    "first_faults_head": "{count} por corregir en los archivos",
    "first_faults_says": "Lo mismo que dice:",
    "first_next": "Siguiente",
    "first_ready": "Sin fallos. La cocina se puede poner en marcha.",
    "first_take_over": "Poner en marcha esta cocina",
    "first_take_over_says": "Se hace una vez. Los cambios posteriores se hacen en la mesa de planificación y con "
    "recetas, y quedan registrados.",
    "first_not_yet": "Todavía no: corregir lo de arriba y guardar el archivo.",
    "first_looks_again": "Esta página vuelve a mirar la carpeta cada pocos segundos.",
    "first_no_orders": "Aún no hay pedidos: un plan empieza con uno.",
    "first_add_order": "Añadir el primer pedido",
    "first_planning": "El planificador hace el primer plan. Esta página se recarga sola.",
    "first_planned": "Hay un plan: mirar el tablero o un puesto.",
    "first_faults_left": "No se puso en marcha: la carpeta aún tiene fallos.",
    "first_faults_left_remedy": "Corregir lo indicado y volver a intentarlo.",
}
