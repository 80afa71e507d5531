"""All words in Spanish, by key; one table for each part of the screens.

How they are written: the verb first, in the infinitive ("Terminar paso"), never "tú" nor "usted"; one fact, then the
time; no blame. What a key says is feminine or masculine after what it is said of (alarma vista, lote retenido).

Glossary, the trade's words, so that later ones agree:

======================  ==================================  ======================  ================================
ageing                  maduración                          lot, batch              lote
alarm: seen, over       vista, terminada                    machine                 máquina
alarm: quiet            en silencio                         on hold                 retenido
allergens               alérgenos                           outlook                 previsión
best before (quality)   consumo preferente                  plan, planned           plan, previsto
blast chilling          abatir, abatidor                    power cut               corte de luz
board                   tablero                             probe, reading          sonda, lectura
check (of a probe)      comprobación                        recall drill            simulacro de retirada
churning, churn         mantecar, mantecadora               record                  registro
clean-down              limpieza                            release                 liberar
cold place, store       zona de frío, cámara                report a problem        avisar problema
corrective action       medida correctora                   rework                  reprocesar
crew, shift             equipo, turno                       start gate              condición de inicio
deviation               desviación                          station                 puesto
discard                 desechar                            step, task              paso, tarea
disposition             qué se hace con el lote             target                  objetivo
draw (out of a churn)   salida                              to enter (a value)      anotar
draft, trial            borrador, prueba                    trace                   trazabilidad, rastrear
freezer, fridge         congelador, nevera                  tray                    bandeja
hand-over (of a shift)  relevo                              tub                     cubeta
hands                   manos                               use by (safety)         fecha de caducidad
hardening               endurecimiento                      window                  ventana
in hand                 en marcha                           windows: safety,        de seguridad, de calidad,
licensed practice       profesionales autorizados           quality, preference     de preferencia
limit                   límite                              yield                   rendir
======================  ==================================  ======================  ================================
"""

from collections.abc import Mapping
from typing import Final

from display.words.tables import merged, tables_of

TABLES: Final = tables_of(__name__, __path__)

SPANISH: Final[Mapping[str, str]] = merged(TABLES)
