"""Spanish: words of what is printed and taken away: labels, sheets, calendars, hand-over."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {
    "papers": "Imprimir y llevar",
    "papers_stamp": "{kitchen}, a fecha de {time}",
    "pdf_a4": "PDF, A4",
    "pdf_letter": "PDF, Carta",
    "csv_file": "CSV",
    "papers_buying": "Compras y mañana",
    "papers_pull": "Qué sacar para mañana",
    "papers_day": "Hojas del día",
    "papers_day_says": (
        "Imprimirlas antes de que se vaya la luz: sirven sin ella. Días enteros; luego hoy, por puesto o persona."
    ),
    "papers_weigh": "Hojas de pesado",
    "papers_weigh_one": "Hoja de pesado",
    # -- what to order, take out, weigh
    "order_sheet": "Qué pedir",
    "order_says": (
        "Lo que llevan los pasos del plan que no han empezado, menos lo que hay, lo que se espera y lo que otros "
        "pasos dejan a tiempo; paquetes enteros, cada uno para la última entrega que llega a tiempo. Lo que nadie ha "
        "anotado no se sabe aquí: mirar antes de pedir."
    ),
    "order_none": "Para este plan no hay que pedir nada.",
    "order_no_supplier": "Sin proveedor indicado (suppliers.yaml)",
    "order_by": "{supplier}: pedir antes de {time}",
    "order_too_late": "{time} tarde: llamar, o sustituirlo",
    "order_packs": "{count} × {pack}",
    "order_expected": "se espera una entrega {time}",
    "order_col_tick": "",
    "order_col_what": "Ingrediente",
    "order_col_order": "Pedir",
    "order_col_needed": "Hace falta",
    "order_col_for": "Para",
    "order_col_by": "Primer paso que lo lleva",
    "pull_sheet": "Qué sacar para {day}",
    "pull_says": (
        "Qué hay que sacar, de dónde, antes de cuándo y para quién. Sacarlo lo más tarde posible: lo frío sigue frío. "
        "El hielo figura en el baño al que va."
    ),
    "pull_none": "No hay que sacar nada.",
    "pull_no_place": "Sitio sin indicar (store en suppliers.yaml)",
    "pull_col_tick": "",
    "pull_col_by": "Antes de",
    "pull_col_what": "Qué",
    "pull_col_amount": "Cuánto",
    "pull_col_lots": "Lote",
    "pull_col_for": "Para",
    "pull_col_who": "Quién",
    "pull_col_done": "Sacado, iniciales",
    "weigh_sheet": "Hoja de pesado {lot} · {name}, {size}",
    "weigh_says": (
        "Receta, revisión {revision}; sus cantidades × {scale}. Escribir el número de lote usado de cada ingrediente."
    ),
    "weigh_none": "Para este lote no se pesa nada.",
    "weigh_planned": "previsto: {lots}",
    "weigh_col_tick": "",
    "weigh_col_what": "Ingrediente",
    "weigh_col_amount": "Cantidad",
    "weigh_col_lot": "Número de lote usado",
    "weigh_col_weighed": "Pesado",
    "weigh_col_initials": "Iniciales",
    "weigh_sign": "Pesado por",
    # -- the day on paper
    "day_sheet": "Hoja del día, {day}",
    "day_says": (
        "Según el plan {revision}, a fecha de {time}. Escribir horas y temperaturas reales e iniciales. Después "
        "anotar lo escrito: las entradas tardías se marcan como tales, con las dos horas."
    ),
    "day_none": "No hay nada previsto este día.",
    "day_late_says": "Sin luz no se recibe ninguna sonda: medir a mano.",
    "day_col_plan": "Plan",
    "day_col_step": "Paso",
    "day_col_take": "Tomar",
    "day_col_check": "Comprobar",
    "day_col_started": "Empezado",
    "day_col_ended": "Terminado",
    "day_col_reading": "Lectura, peso",
    "day_col_initials": "Iniciales",
    "day_done": "hecho",
    "day_skipped": "omitido",
    "day_in_hand": "en marcha",
    "day_latest": "empezar antes de {time}",
    "day_hold": "mantener {length}",
    "day_places": "Zonas de frío, a mano",
    "day_places_says": (
        "Cada dos horas mientras no se reciba ninguna sonda; puertas cerradas. La frecuencia es práctica común; "
        "la norma local puede pedir más."
    ),
    "day_place": "Sitio",
    "day_band": "Se guarda a",
    "day_time_and": "Hora, {unit}",
    "day_sign": "Revisado por",
    # -- late entry, files
    "late_entry": "Anotar desde papel",
    "late_says": (
        "Lo escrito en papel: anotarlo con la hora en que se hizo, lo más antiguo primero. El registro guarda las"
        " dos horas y lo llama entrada tardía. Decir antes quién lo hizo."
    ),
    "late_none": "No queda nada por anotar.",
    "late_when": "Cuándo se hizo",
    "late_planned": "previsto de {start} a {end}",
    "late_started": "empezado {time}",
    "late_start": "Anotar el inicio",
    "late_finish": "Anotar el fin",
    "late_temperature": "Anotar la temperatura",
    "late_reason": "Motivo, si una condición o un objetivo no se cumplió o no se midió",
    "record_late": "entrada tardía, {time}",
    "papers_files": "Listas en CSV",
    "papers_files_says": (
        "Para una hoja de cálculo: UTF-8, horas en UTC. Las lecturas y acciones de un lote están en su registro."
    ),
    "list_of_orders": "Pedidos, línea a línea",
    "list_of_tasks": "Tareas del plan",
    "list_of_lots": "Lotes previstos y hechos",
    "list_of_stock": "Lotes que había o se añadieron",
    "list_of_alarms": "Alarmas",
    "list_of_deviations": "Desviaciones y decisiones",
    "list_of_looked-through": "Registros revisados",
    "list_of_deliveries": "Entregas",
    "list_of_crew": "Equipo y turnos",
    "list_of_par-levels": "Niveles y recuentos",
    "list_of_recipes": "Qué lleva cada paso",
    "list_of_probes": "Sondas y última lectura",
    "list_of_probe-checks": "Comprobaciones de sondas",
    "list_of_durations": "Cuánto duran los pasos",
    "list_of_calls": "Llamadas hechas",
    "list_of_drills": "Simulacros de retirada",
    "list_of_machines": "Máquinas, lugares y sus paradas",
    "list_of_trials": "Pruebas de recetas",
    "list_of_hand-overs": "Notas de relevo",
    "list_of_refused-acts": "Acciones rechazadas (para el encargado)",
    "papers_calendars": "Calendarios",
    "papers_calendars_says": (
        "Una dirección para un programa de calendario, renovada con cada plan. Funciona donde funciona esta página."
    ),
    "papers_late_says": "Tras un día en papel:",
    "calendar_plan": "Plan {revision}. Manda lo que dice la pantalla del puesto.",
    "csv_readings": "Lecturas en CSV",
    "csv_acts": "Acciones en CSV",
    # -- shift hand-over
    "handover": "Relevo de turno",
    "handover_says": (
        "Hecho con lo que pasó y lo que viene. Añadir lo que ningún registro sabe y dar el relevo: entonces queda"
        " como está."
    ),
    "handover_since": "desde {since}; lo que viene, hasta {until}",
    "handover_by": "Relevo dado por {who}, {time}.",
    "handover_taken": "Relevo tomado por {who}, {time}.",
    "handover_not_taken": "Aún nadie ha tomado el relevo.",
    "handover_alarms": "Alarmas activas",
    "handover_no_alarms": "Ninguna.",
    "handover_held": "Lotes retenidos",
    "handover_no_held": "Ninguno.",
    "handover_deviations": "Desviaciones abiertas",
    "handover_stopped": "Máquinas paradas",
    "handover_no_stopped": "Ninguna.",
    "handover_in_hand": "En marcha",
    "handover_no_in_hand": "Nada.",
    "handover_coming": "Lo que viene",
    "handover_no_coming": "No hay nada previsto.",
    "handover_done": "Hecho",
    "handover_no_done": "No hay nada registrado.",
    "handover_left_out": "Omitido",
    "handover_at": "{time}",
    "handover_until": "hasta {time}",
    "handover_from": "desde {time}",
    "handover_back": "de vuelta {time}",
    "handover_words": "Qué más debe saber el turno siguiente",
    "handover_give": "Dar el relevo",
    "handover_take": "Leído: tomar el relevo",
    "handover_sign_by": "Relevo dado por",
    "handover_sign_to": "Relevo tomado por",
    "handover_before": "En el registro",
    "done_hand_over": "Relevo dado. El turno siguiente lo lee y lo toma.",
    "done_look_through": "Consta que se ha revisado.",
    "field_upto": "Número de la última entrada vista",
    "done_take_over": "Relevo tomado.",
    "field_handover_text": "Qué más debe saber el turno siguiente",
    "field_handover": "Relevo",
    # -- labels
    "labels": "Etiquetas",
    "labels_of": "Etiquetas de {lot}",
    "labels_sheet": "Hoja de etiquetas",
    "labels_first": "Primer hueco libre de la hoja",
    "labels_first_says": "Contado fila a fila desde arriba a la izquierda; 1 es una hoja entera.",
    "labels_count": "Cuántas etiquetas",
    "labels_net": "Cantidad neta de cada una, como 500 ml o 0,48 kg",
    "labels_net_us": "Cantidad neta de cada una, como 1 pt o 17 oz",
    "labels_in_en": "Va en inglés, la lengua de las etiquetas de esta cocina; labels.yaml puede decir otras.",
    "labels_in_es": "Va en español, la lengua de las etiquetas de esta cocina; labels.yaml puede decir otras.",
    "labels_code": "Código para lectores",
    "labels_code_matrix": "GS1 DataMatrix (cuadrado)",
    "labels_code_bars": "GS1-128 (barras; solo etiquetas anchas)",
    "labels_code_none": "ninguno",
    "labels_make": "Etiquetas en PDF",
    "labels_contains": "Contiene: **{allergens}**",
    "labels_also": "Contiene también: {allergens}",
    "labels_keep_frozen": "Conservar congelado a {celsius} o más frío",
    "labels_keep_cold": "Conservar a {celsius} o más frío",
    "labels_looks": "Qué lleva cada una",
    "labels_string": "El código contiene {text}",
    "labels_planned": "Aún sin hacer: sus fechas siguen el plan. Imprimir otra vez si el plan se mueve.",
    "labels_blocked": "Sin etiquetas: {lot} está {why}.",
    "labels_blocked_remedy": "Decidir antes sobre el lote.",
    "labels_practice": "PRÁCTICA: no es alimento de verdad",
    "labels_too_much": "Estas etiquetas no se pueden imprimir: {why}.",
    "labels_too_much_remedy": "Tomar una etiqueta mayor, otro código o una plantilla más corta en labels.yaml.",
    "labels_lot_code": "el código de lote {lot} tiene caracteres que GS1 no admite",
    "labels_check": "Qué hay que comprobar en persona",
    "labels_check_law": (
        "Esto no es una etiqueta legal. La ley puede pedir más: la lista de ingredientes por orden de peso, "
        "nombre y dirección del responsable, nutrición, el idioma, el tamaño de letra."
    ),
    "labels_check_allergens": (
        "Los alérgenos vienen de las recetas ({lists}). Lo que un ingrediente trae y su receta no nombra, y las "
        "trazas de la sala o la máquina, no lo puede saber ninguna etiqueta."
    ),
    "labels_check_no_allergens": "Su receta no nombra ningún alérgeno: ¿es así?",
    "labels_check_use_by": (
        "La fecha de caducidad es de seguridad: {use_by} es el último día entero antes de acabar su vida útil "
        "({time}). El consumo preferente es de calidad."
    ),
    "labels_check_use_by_hour": (
        "La fecha de caducidad es de seguridad: la vida útil acaba el mismo día en que se hace, y por eso se imprime "
        "con la hora: {use_by}. El consumo preferente es de calidad."
    ),
    "labels_check_no_use_by": (
        "No lleva fecha de caducidad: su receta no tiene shelf_life. Escribirla, si la norma la pide."
    ),
    "labels_check_no_best": "No lleva consumo preferente: su receta no lo dice.",
    "labels_check_gtin": (
        "GS1 quiere un GTIN (01) junto a lote, fechas y peso en el comercio. Aquí no lo hay (gtin en "
        "labels.yaml): el código es para lectores propios."
    ),
    "labels_check_net": "Pesarlo o medirlo: la cantidad neta se imprime tal como se escribió.",
    "labels_check_print": "Imprimir a tamaño real (100 %, sin ajustar a la página), primero en papel corriente.",
    "field_sheet": "Hoja de etiquetas",
    "field_first": "Primer hueco libre",
    "field_count": "Número de etiquetas",
    "field_net": "Cantidad neta",
    "field_code": "Código",
    "form_amount": "{field} {text} no es una cantidad.",
    "form_amount_remedy": "Escribir un número y ml, L, g, kg o piezas, como 500 ml.",
}
