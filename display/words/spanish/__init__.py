"""All words in Spanish, by key; one table for each part of the screens.

How they are written: the verb first, in the infinitive ("Terminar paso"), never "tú" nor "usted"; one fact, then the
time; no blame. What a key says is feminine or masculine after what it is said of (alarma vista, lote retenido).

Glossary, the trade's words in Spain and the Americas, so that later ones agree. One thing has one word on every page,
in every sentence and in the shipped texts of a kitchen (``config/texts.es/``):

======================  ==================================  ======================  ================================
act                     acción                              licensed practice       profesionales autorizados
ageing                  maduración, madurar                 limit, ceiling          límite, tope
alarm: standing         activa                              limit: met, broken      cumplido, incumplido
alarm: seen, over       vista, terminada                    lot, batch              lote
alarm: quiet            en silencio                         machine                 máquina
allergens               alérgenos                           on hold                 retenido
battery                 batería                             outlook                 previsión
best before (quality)   consumo preferente                  pan, pot                olla (*cazo* is a ladle)
blanch, shock           escaldar, refrescar                 par                     nivel
blast chilling          abatir, abatidor                    plan, planned           plan, previsto
board                   tablero                             power cut               corte de luz
check (of a probe)      comprobación                        probe, reading          sonda, lectura
churning, churn         mantecar, mantecadora               recall drill            simulacro de retirada
clean-down              limpieza                            record                  registro
cold place, store       zona de frío, cámara                release                 liberar
component               elaboración                          report a problem        avisar problema
cooling, its legs       enfriamiento, tramo                 rescue card             ficha
core, middle            centro                              rework                  reprocesar
corrective action       medida correctora                   ripe                    en su punto
crew, shift             equipo, turno                       silent                  sin señal
custard (frozen)        helado                              skill                   habilidad
custard base            base de crema                       start, start gate       inicio, condición de inicio
deviation               desviación                          station                 puesto (*partida*, *estación*)
discard                 desechar                            stay                    reposo
disposition             qué se hace con el lote             step, task              paso, tarea
draw (out of a churn)   salida                              target                  objetivo
draft, trial            borrador, prueba                    temper (to serve)       atemperar
food                    alimento, never *comida*            to enter (a value)      anotar
freezer, fridge         congelador, nevera                  token (of a program)    clave
hand-over (of a shift)  relevo                              trace                   trazabilidad, rastrear
hands                   manos                               tray, tub               bandeja, cubeta
hardening               endurecimiento                      use by (safety)         fecha de caducidad
in hand, in work        en marcha                           window: missed          ventana: perdida
kept (a lot)            conservado                          yield                   rendir
======================  ==================================  ======================  ================================

On labels the two dates are written as the law has them: "fecha de caducidad" and "consumir preferentemente antes del".
Source: Regulation (EU) No 1169/2011, Annex X, in its Spanish wording.

A number and its noun agree: where a count may be 1, it stands behind a colon ("alarmas: 1"), or has words of its own.
"""

from collections.abc import Mapping
from typing import Final

from display.words.tables import merged, tables_of

TABLES: Final = tables_of(__name__, __path__)

SPANISH: Final[Mapping[str, str]] = merged(TABLES)
