"""Spanish: what is wrong with record, disk, database and backups, by the English pattern."""

from collections.abc import Mapping
from typing import Final

SENTENCES: Final[Mapping[str, str]] = {
    "{0} is locked by another program; close the other program that has it open": (
        "{0}: lo tiene bloqueado otro programa; cerrar el programa que lo tiene abierto"
    ),
    "{0} cannot grow: the disk is full; free some space on the disk": (
        "{0} no puede crecer: el disco está lleno; hacer sitio en el disco"
    ),
    "{0} cannot be written; give the service the right to write the file and its folder": (
        "{0} no se puede escribir; dar al servicio permiso para escribir el archivo y su carpeta"
    ),
    "{0} is damaged; restore the last backup of the data folder; keep the damaged file": (
        "{0} está dañado; restaurar la última copia de la carpeta de datos y guardar el archivo dañado"
    ),
    "{0} is not one of ours, or is damaged; restore the last backup of the data folder": (
        "{0} no es nuestro o está dañado; restaurar la última copia de la carpeta de datos"
    ),
    "{0} cannot be opened; check that its folder exists and may be written": (
        "{0} no se puede abrir; comprobar que su carpeta existe y se puede escribir"
    ),
    "{0} cannot be read or written; check the disk and its connection": (
        "{0} no se puede leer ni escribir; comprobar el disco y su conexión"
    ),
    "{0} has been written by another program meanwhile; let one program only use a data folder": (
        "{0}: otro programa lo ha escrito mientras tanto; que un solo programa use una carpeta de datos"
    ),
    "{0} cannot grow: the server's disk is full; free some space on the server's disk": (
        "{0} no puede crecer: el disco del servidor está lleno; hacer sitio en él"
    ),
    "{0} is being shut down or restarted; wait until the server is back": (
        "{0} se está apagando o arrancando; esperar a que vuelva el servidor"
    ),
    "{0} cannot be reached; check that the server runs and that its address is right": (
        "{0}: no se llega; comprobar que el servidor funciona y que su dirección es correcta"
    ),
    "{0} is written by another service now {1}; nothing was written here: use the screens of the service that writes": (
        "{0}: ahora lo escribe otro servicio, {1}; aquí no se escribió nada: usar las pantallas del que escribe"
    ),
    "{0} cannot be written: {1}; name another folder for backups": (
        "{0} no se puede escribir: {1}; indicar otra carpeta para las copias"
    ),
    "the backup was cut short; the older ones are kept": "la copia quedó a medias; las anteriores se conservan",
    "the kitchen's service is shutting down": "el servicio de la cocina se está cerrando",
    "no new plan: {0}": "sin plan nuevo: {0}",
    "the service that writes this kitchen is not heard: another may be taking over": (
        "no se oye al servicio que escribe esta cocina: puede estar relevándolo otro"
    ),
    "what the writer recorded cannot be followed ({0})": "no se puede seguir lo que registró quien escribe ({0})",
    "a worker failed over it ({0}), as its log tells": "un proceso falló con ella ({0}), como dice su registro",
    "cannot be understood ({0})": "no se entiende ({0})",
    "run the same version in every process of the kitchen": "usar la misma versión en todos los procesos de la cocina",
    "{0}, process {1}": "{0}, proceso {1}",
    "a task of the engine ended": "una tarea del motor terminó",
}
