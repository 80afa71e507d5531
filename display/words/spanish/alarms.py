"""Spanish: words of the alarms page: what each kind of alarm means, the shelf, groups and figures."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {
    # -- the rationalisation table: cause, consequence, time to act, what to do; one of each for every kind
    "meaning": "Qué significa esta alarma",
    "meaning_cause": "Causa",
    "meaning_consequence": "Si nadie actúa",
    "meaning_time": "Tiempo para actuar",
    "meaning_act": "Qué hacer",
    "kind_window_closing": "Ventana que cierra o perdida",
    "cause_window_closing": (
        "Un paso no ha empezado, o no ha terminado, y el último momento que permite su ventana está cerca o ha pasado."
    ),
    "consequence_window_closing": (
        "Pasada una ventana de seguridad, el lote queda retenido y ningún plan lo usa; pasada una de calidad, el "
        "alimento no es lo que debería."
    ),
    "time_window_closing": (
        "Hasta que cierre la ventana; la alarma dice el último momento que aún la salva, si se conoce."
    ),
    "act_window_closing": "Empezar o terminar el paso ya, o usar otra máquina; una vez perdida, decidir sobre el lote.",
    "kind_too_short": "Antes de que abra su ventana",
    "cause_too_short": "Un paso está previsto, o ha empezado, antes de que lo anterior haya durado lo que debe.",
    "consequence_too_short": (
        "La maduración o el endurecimiento se acorta; si toca a la seguridad, hay que decidir sobre el lote."
    ),
    "time_too_short": "Hasta que empiece el paso; ya empezado, antes de usar el lote.",
    "act_too_short": "Esperar a que abra la ventana; si ya empezó, decidir sobre el lote.",
    "kind_order_unplanned": "Pedido sin planificar",
    "cause_order_unplanned": "El plan que lo incluye se rechazó, no se decidió a tiempo o no se pudo hacer.",
    "consequence_order_unplanned": "Nadie lo hace: el plan con el que se trabaja no lo conoce.",
    "time_order_unplanned": "Cuanto antes: cada hora quedan menos maneras de encajarlo antes de su entrega.",
    "act_order_unplanned": "Pedir un plan y adoptarlo; o hacer el pedido menor o más tarde, o quitarlo y avisar.",
    "kind_order_late": "Pedido tarde",
    "cause_order_late": "Lo que el pedido espera termina demasiado tarde para su entrega.",
    "consequence_order_late": "El cliente espera o se queda sin nada.",
    "time_order_late": "Hasta el último momento que dice la alarma; si no lo dice, avisar al cliente mientras sirva.",
    "act_order_late": "Empezar lo que espera, llamar a alguien más o avisar al cliente.",
    "kind_orders_undecided": "Pedidos muy pasados de su hora",
    "cause_orders_undecided": (
        "Un pedido no se entregó, su hora pasó hace más de lo que admite la cocina y nadie ha dicho qué se hace con él."
    ),
    "consequence_orders_undecided": (
        "Cada plan le vuelve a hacer sitio: trabajo, máquinas y planificación van a comida que quizá ya nadie quiere."
    ),
    "time_orders_undecided": "Hoy: cada día depende de él más trabajo del plan.",
    "act_orders_undecided": "Preguntar al cliente; luego quitarlo o darle una hora nueva. Nada se quita por sí solo.",
    "kind_task_late": "Trabajo sin empezar",
    "cause_task_late": "Un paso que pide manos podía empezar y no ha empezado.",
    "consequence_task_late": "Lo que sigue se retrasa: primero se va la holgura, luego una ventana o un pedido.",
    "time_task_late": "Hasta el último momento que dice la alarma; después peligra una ventana o un pedido.",
    "act_task_late": "Empezarlo o llamar a alguien más; si no hace falta, omitirlo con un motivo.",
    "kind_store_warm": "Cámara fuera de sus temperaturas",
    "cause_store_warm": (
        "El aire de una cámara está fuera de sus límites: una puerta, un desescarche, demasiado alimento "
        "caliente, o falla la máquina."
    ),
    "consequence_store_warm": (
        "El alimento se calienta, o se congela donde no debe; lo congelado se ablanda y puede que no se deba volver "
        "a congelar."
    ),
    "time_store_warm": "Hasta que pase el margen de la cámara; desde entonces cuenta como no cumplido.",
    "act_store_warm": "Cerrar la puerta, medir el alimento a mano y llevarlo a otro sitio si la cámara no se recupera.",
    "kind_target_missed": "Temperatura no alcanzada",
    "cause_target_missed": "Un paso no llegará, o no llegó, a su temperatura a tiempo, o pasó de su tope.",
    "consequence_target_missed": (
        "Los gérmenes pueden sobrevivir o crecer: pasado un límite de seguridad, el lote queda retenido."
    ),
    "time_target_missed": "Hasta que pase el tiempo máximo del paso, o el tramo del enfriamiento.",
    "act_target_missed": (
        "Medir a mano; calentar o enfriar con más fuerza (porciones menores, hielo nuevo, remover); nunca adivinar."
    ),
    "kind_probe_silent": "Sonda sin señal",
    "cause_probe_silent": "No se oye una sonda desde hace más de lo debido: batería, cable, radio o bróker.",
    "consequence_probe_silent": "Nadie vigila lo que vigilaba, y el registro tiene un hueco.",
    "time_probe_silent": "Enseguida si hay alimento: hasta que vuelva, nada avisa de su temperatura.",
    "act_probe_silent": "Medir a mano y anotarlo; luego mirar batería y cable.",
    "kind_probe_doubted": "Sonda no fiable",
    "cause_probe_doubted": (
        "Una sonda marca lo que no puede ser: fija, con ruido, a la deriva, con saltos, en otra unidad o sitio, "
        "con la hora mal, o no pasó su última comprobación."
    ),
    "consequence_probe_doubted": (
        "Lo que dice no cumple objetivos ni condiciones; el alimento que vigila queda sin vigilar hasta medirlo a mano."
    ),
    "time_probe_doubted": "Antes del próximo paso que la necesita; enseguida, si hay alimento en su sitio.",
    "act_probe_doubted": "Medir a mano; repararla, comprobarla en hielo o agua hirviendo, o asignar otra sonda.",
    "kind_probe_battery": "Batería baja",
    "cause_probe_battery": "Una sonda dice que su batería está al 20 % o menos.",
    "consequence_probe_battery": "Dejará de oírse, y un hueco del registro no se juzga.",
    "time_probe_battery": "Hoy, antes de dejar la cocina sola.",
    "act_probe_battery": "Cambiar la batería.",
    "kind_probe_check_due": "Toca comprobar una sonda",
    "cause_probe_check_due": "Una sonda lleva sin comprobar más de lo que permiten los ajustes de la cocina.",
    "consequence_probe_check_due": "Cuanto más lejos la última comprobación buena, más lotes pone en duda una mala.",
    "time_probe_check_due": "Hoy.",
    "act_probe_check_due": "Meterla en agua con hielo, remover, y anotar lo que marca.",
    "kind_probe_unwashed": "Sonda sin aviso de lavado",
    "cause_probe_unwashed": (
        "Una sonda ha pasado de un alimento con un alérgeno a otro sin él, y nadie ha dicho que se lavó."
    ),
    "consequence_probe_unwashed": "El alimento puede llevar un alérgeno que su etiqueta no nombra.",
    "time_probe_unwashed": "Enseguida, antes de que el alimento avance.",
    "act_probe_unwashed": "Decir que se lavó y desinfectó, o retener el lote.",
    "kind_machine_stopped": "Máquina parada",
    "cause_machine_stopped": "Alguien ha dicho que una máquina no se puede usar, y hay trabajo o alimento que la pide.",
    "consequence_machine_stopped": (
        "Su trabajo espera: las ventanas y los pedidos que cuelgan de ella se pierden uno tras otro."
    ),
    "time_machine_stopped": "Hasta la última vuelta que aún salva, que la alarma dice si se conoce.",
    "act_machine_stopped": "Sacar el alimento que tiene, usar otra máquina y decir cuándo volverá.",
    "kind_lot_on_hold": "Lote retenido",
    "cause_lot_on_hold": "Un límite no se cumplió, o alguien duda de un lote.",
    "consequence_lot_on_hold": "Ningún plan lo usa: aquello para lo que era se queda sin él hasta que alguien decida.",
    "time_lot_on_hold": "Antes de que empiece el paso que lo usaría.",
    "act_lot_on_hold": (
        "Dejarlo como está, averiguar qué pasó; luego liberarlo, reprocesarlo o desecharlo, con nombre y motivo."
    ),
    "kind_delivery_overdue": "Entrega atrasada",
    "cause_delivery_overdue": "Una entrega debía estar aquí, hay trabajo que la espera y nadie la ha recibido.",
    "consequence_delivery_overdue": "Los planes la suponen más tarde, una y otra vez; lo que espera se retrasa.",
    "time_delivery_overdue": "Ya: cuanto antes se sepa cuándo llega, más se puede planificar alrededor.",
    "act_delivery_overdue": "Si está aquí, recibirla; si no, preguntar al proveedor y decir cuándo llega.",
    "kind_by_product_past": "Sobrante pasado de fecha (en registros antiguos)",
    "cause_by_product_past": "Lo que sobró de un paso no se usó antes de su fecha y nadie lo ha desechado.",
    "consequence_by_product_past": "No se ofrece a ningún paso; quien no mire puede usarlo igual.",
    "time_by_product_past": "Antes de que alguien abra el almacén para usarlo.",
    "act_by_product_past": "Tirarlo y anotarlo; entonces sale de los libros.",
    "kind_past_use_by": "Pasado de su fecha de caducidad",
    "cause_past_use_by": (
        "Queda algo de comida hecha aquí, sobrante o recibida, ha pasado su fecha de caducidad y nadie la ha desechado."
    ),
    "consequence_past_use_by": (
        "No se ofrece a ningún paso y ninguno empieza con ello; quien no mire puede usarlo o servirlo igual."
    ),
    "time_past_use_by": "Antes de que alguien abra el almacén para usarlo; no llama a nadie de noche.",
    "act_past_use_by": "Desechar cada lote y anotarlo; entonces sale de plan y existencias. No se puede conservar.",
    "kind_past_best_before": "Pasado de su consumo preferente",
    "cause_past_best_before": "Queda algo de un lote, ha pasado su consumo preferente y nadie lo ha valorado.",
    "consequence_past_best_before": "Por sus fechas es seguro, pero puede no ser lo que un cliente debe recibir.",
    "time_past_best_before": "Antes de servirlo; no llama a nadie.",
    "act_past_best_before": "Un encargado mira y prueba, y lo conserva con un motivo; o desecharlo y anotarlo.",
    "kind_lots_asked": "Lotes sin decidir tras un fallo",
    "cause_lots_asked": (
        "Una cámara estuvo demasiado caliente, parada o sin señal, ya está bien otra vez, y hay lotes que esperan."
    ),
    "consequence_lots_asked": (
        "Lo que se ablandó o calentó puede estar frío otra vez sin que se note; nada de ello se puede usar."
    ),
    "time_lots_asked": "Antes de que empiece el paso que usaría un lote.",
    "act_lots_asked": "Medir cada lote en su centro; luego decir: conservado, movido, retenido o desechado.",
    # -- many at once
    "flood_head": "{count} alarmas en diez minutos.",
    "flood_says": "Van agrupadas por lo que hay detrás; lo crítico va aparte. Empezar por la causa.",
    "flood_machine": "Máquina parada: {title}",
    "flood_store": "Cámara: {title}",
    "flood_readings": "Ya no llegan lecturas: bróker, red o corriente",
    "flood_hands": "Trabajo sin empezar: faltan manos",
    "flood_other": "Sin causa común",
    "flood_count": "{count} alarmas",
    "flood_first": "La primera",
    "flood_worst": "La peor",
    "flood_first_and_worst": "La primera y la peor",
    "flood_rest": "{count} más de este grupo",
    # -- figures
    "figures_link": "Alarmas en cifras",
    "figures_head": "Alarmas en cifras",
    "figures_days": "{count} días",
    "figures_days_one": "1 día",
    "figures_csv": "Cifras como CSV",
    "figures_since": "De {since} a ahora ({length}). Veces que se avisó a alguien de algo nuevo o peor: {count}.",
    "figures_none": "Ninguna alarma en este tiempo.",
    "figures_hours": "En cada hora del último día",
    "figures_hours_label": "Alarmas en cada hora del último día, {most} como máximo",
    "figures_in_numbers": "En números",
    "figures_guidance": "Frente a la guía para un operador",
    "figures_what": "Qué",
    "figures_value": "Aquí",
    "figures_guided": "Guía",
    "figures_source": (
        "Guía: ANSI/ISA-18.2 y EEMUA 191, de memoria; comprobarla en un ejemplar propio. Se hizo para grandes "
        "plantas: números bajos aquí dicen que las alarmas van bien, no que todo va bien."
    ),
    "figure_in_ten": "Alarmas en diez minutos, de media",
    "figure_in_ten_guidance": "unas {well:g}, muy probablemente aceptable; {most:g} como máximo",
    "figure_per_hour": "Alarmas en una hora, de media",
    "figure_per_hour_guidance": "unas {well:g}, muy probablemente aceptable; {most:g} como máximo",
    "figure_per_day": "Alarmas en un día, de media",
    "figure_per_day_guidance": "unas {well:g}, muy probablemente aceptable; {most:g} como máximo",
    "figure_most_in_ten": "Máximo en diez minutos",
    "figure_most_in_ten_guidance": "10 o menos; más son una avalancha",
    "figure_floods": "Periodos de diez minutos con avalancha",
    "figure_floods_guidance": "menos del 1 %, más o menos",
    "figure_chattering": "Alarmas que van y vienen",
    "figure_chattering_guidance": "ninguna; {count} veces o más en una hora (la hora es nuestra)",
    "figure_fleeting": "Alarmas que acaban en un minuto",
    "figure_fleeting_guidance": "ninguna",
    "figure_stale": "Activas desde hace más de un día",
    "figure_stale_guidance": "menos de 5",
    "figure_is_ok": "dentro",
    "figure_is_much": "demasiado para largo tiempo",
    "figure_is_most": "fuera",
    "figure_is_early": "pronto para decirlo",
    "figures_shares": "Por prioridad",
    "figures_priority": "Prioridad",
    "figures_about": "cerca del {share}",
    "figures_seen": "Marcadas como vistas tras",
    "figures_seen_none": "Nada se marcó como visto en este tiempo.",
    "figures_seen_after": "La mitad en {median}, nueve de cada diez en {tenth}.",
    "figures_unseen": "Sin ver ahora: {count}.",
    "figures_shelved": "En silencio ahora: {count}.",
    "figures_longest_none": "No hay alarmas en pie.",
    "figures_frequent": "Las más frecuentes",
    "figures_alarm": "Alarma",
    "figures_times": "Veces",
    "figures_nothing": "No hubo ninguna.",
    "figures_longest": "Activas desde hace más tiempo",
    "figures_stale": "estancada: más de un día",
    "figures_restless": "Inquietas: buscar su causa",
    "figures_chatters": "{alarm}: {count} veces en una hora",
    "figures_fleets": "{alarm}: acabó en un minuto (veces: {count})",
    # -- the shelf
    "alarm_state_shelved": "En silencio",
    "shelf": "Silenciar",
    "shelf_legend": "¿Cuánto tiempo?",
    "shelf_reason": "Por qué: qué se sabe y qué se está haciendo",
    "shelf_send": "Silenciar",
    "shelf_says": "No suena hasta entonces, se muestra abajo y vuelve sola si su causa sigue.",
    "shelf_never": "No se puede silenciar: es crítica para el alimento. Marcar como visto quita el sonido.",
    "shelf_too_late": "No se puede silenciar: queda muy poco tiempo para actuar.",
    "shelf_end": "Quitar el silencio",
    "shelved_head": "En silencio por ahora ({count})",
    "shelved_none": "Ninguna alarma en silencio.",
    "shelved_until": "En silencio hasta {time}",
    "shelved_left": "En silencio hasta {time}, quedan {length}",
    "shelved_by": "desde {time} por {who}: {reason}",
    "shelved_stands": "Su causa sigue",
    "shelved_over": "Su causa ha cesado por ahora",
    "shelved_came_back": "volvió del silencio {time}",
    "quiet_count": "{count} en silencio",
    "history_shelved": "Silenciada",
    "history_unshelved": "Ya no está en silencio",
    "done_shelve": "En silencio; vuelve sola",
    "done_unshelve": "Ya no está en silencio",
    "suppressed_says": (
        "Suprimidas por diseño: {count}. Inicios tardíos que ya dice la alarma de una ventana; nada que guarde "
        "alimento."
    ),
}
