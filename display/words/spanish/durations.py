"""Spanish: words about learned durations."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {
    "durations": "Cuánto tardan los pasos",
    "durations_says": (
        "Aprendido de tareas terminadas, con los extremos recortados. El plan usa las cifras de la receta hasta "
        "que un encargado adopte otras; los lotes empezados conservan las suyas."
    ),
    "durations_median": "Los minutos habituales son el centro de todos: la mitad tardó menos, la mitad más.",
    "durations_none_do": "Empezar y terminar pasos en los puestos, y aquí se cuentan.",
    "durations_none": "Ningún paso se ha terminado {least} veces: menos dice demasiado poco.",
    "durations_few": "Todavía muy pocas",
    "durations_few_says": "{count} de {least}",
    "durations_step": "Paso",
    "durations_written": "Receta",
    "durations_learned": "Aprendido",
    "durations_plan": "En el plan",
    "durations_decide": "Decisión",
    "durations_figures": "{usual} min",
    "durations_range": "{shortest} a {longest}",
    "durations_quantiles": "uno de cada diez menos de {low}, uno de cada diez más de {high}",
    "durations_samples": "de {count} tareas",
    "durations_tray": "una bandeja",
    "durations_held_back": "Mandan los límites de la receta: el paso es crítico o tiene un objetivo.",
    "durations_adopt": "Adoptar {usual} min ({shortest} a {longest})",
    "durations_restore": "Volver a: {usual} min",
    "durations_adopted": "Adoptado {time} por {who}, de {count} tareas",
    "durations_same": "Nada que cambiar",
    "home_durations_says": "aprendidas: {count}",
    "done_durations": "Decidido: se pide un plan nuevo",
    "field_recipe": "Receta",
    "field_step": "Paso",
    "field_shortest": "Minutos, lo más corto",
    "field_usual": "Minutos habituales",
    "field_longest": "Minutos, lo más largo",
}
