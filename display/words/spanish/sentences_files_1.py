"""Spanish: faults of a kitchen's files, by the English pattern: crew, machines, orders, buying, calls, labels."""

from collections.abc import Mapping
from typing import Final

SENTENCES: Final[Mapping[str, str]] = {
    # -- calls
    "write the name of the environment variable, or of the line in the secrets file, that holds it, in capitals": (
        "escribir en mayúsculas el nombre de la variable de entorno o de la línea de secretos que la guarda"
    ),
    "an address stands in the file, and everybody who reads the file can read it": (
        "en el archivo hay una dirección, y la puede leer quien lea el archivo"
    ),
    "take it out, change its password or token, and {0}, like CALL_OWNER_PHONE": (
        "quitarla, cambiar su contraseña o su clave, y {0}, como CALL_OWNER_PHONE"
    ),
    "the secret is not named": "el secreto no tiene nombre",
    "{0}, like CALL_OWNER_PHONE": "{0}, como CALL_OWNER_PHONE",
    "quiet hours from {0} to {1} would be the whole day": "las horas de silencio de {0} a {1} serían el día entero",
    "critical alarms would call nobody": "las alarmas críticas no avisarían a nadie",
    "add critical to the list": "añadir critical a la lista",
    "{0} is not one of the crew": "{0} no es del equipo",
    "{0} is called twice, as person {1} already": "{0} recibe dos avisos: ya es la persona {1}",
    "write two different times, or leave them out": "escribir dos horas distintas, o no poner ninguna",
    "the quiet hours together are the whole day": "las horas de silencio juntas son el día entero",
    "leave some of it out": "quitar una parte",
    "{0} Or write `role:` for somebody else": "{0} O escribir `role:` para otra persona",
    "keep one of the two": "dejar una de las dos",
    "it is not clear who is called": "no está claro a quién se avisa",
    "give either `crew: <id>` or `role: <words>`": "poner `crew: <id>` o `role: <palabras>`, uno de los dos",
    "nobody can be reached without a channel": "sin un canal no se llega a nadie",
    "give at least one": "poner al menos uno",
    "two channels have the same name": "dos canales tienen el mismo nombre",
    "name each once": "nombrar cada uno una vez",
    # -- buying and supplies
    "no step takes {0}": "ningún paso usa {0}",
    "there is no supplier {0}": "no existe el proveedor {0}",
    "{0} is there twice": "{0} está dos veces",
    "keep one entry for each ingredient": "dejar una entrada por ingrediente",
    "{0} of {1} is in {2}, its recipes take {3}": "{0} de {1} está en {2}, sus recetas usan {3}",
    "write it in {0}, or it cannot be counted": "escribirlo en {0}; si no, no se puede contar",
    "{0} is there {1}, after the last planned minute": "{0} está {1}, después del último minuto previsto",
    "nothing that takes it can be planned: correct the time, or leave it out": (
        "no se puede prever nada que lo use: corregir la hora, o quitarlo"
    ),
    "{0} {1} is no amount of {2}": "{0} {1} no es una cantidad de {2}",
    "{0} at {1} comes twice": "{0} en {1} está dos veces",
    "write more than 0, in {0}": "escribir más de 0, en {0}",
    # -- capacities
    "a batch of {0} {1} loads {2} {3} at {4}, more than the {5} {6} of the {7}": (
        "un lote de {0} {1} carga {2} {3} en {4}, más que los {5} {6} de {7}"
    ),
    "a batch of {0} {1} loads {2} {3} at {4}, less than the {5} {6} that the {7} needs": (
        "un lote de {0} {1} carga {2} {3} en {4}, menos que los {5} {6} que necesita {7}"
    ),
    "lower most to {0} {1}": "bajar most a {0} {1}",
    "lower the load, or use a larger machine": "bajar la carga, o usar una máquina más grande",
    "no batch ever loads the {0} {1} that the {2} needs at {3}": (
        "ningún lote llega a cargar los {0} {1} que necesita {2} en {3}"
    ),
    "the most of a batch loads {0} {1}: make batches larger, or use a smaller machine": (
        "el lote mayor carga {0} {1}: hacer lotes más grandes, o usar una máquina más pequeña"
    ),
    "raise least to {0} {1}": "subir least a {0} {1}",
    "the {0} {1} of the {2}": "los {0} {1} de {2}",
    "{0} loads {1} {2}, more than {3}": "{0} carga {1} {2}, más que {3}",
    "split the line between two orders": "repartir la línea entre dos pedidos",
    # -- crew
    "the attended portions of {0} overlap": "las partes atendidas de {0} se solapan",
    "{0} is attended for {1}, longer than its usual {2}{3}": (
        "{0} se atiende durante {1}, más que su duración habitual de {2}{3}"
    ),
    "{0} needs {1} people with the skill {2}, and there is {3}": ("{0} necesita {1} personas que sepan {2}, y hay {3}"),
    "nobody with the skill {0} works": "nadie que sepa {0} trabaja",
    "the attended work of {0} lasts {1}, and {2} so long without a break": (
        "el trabajo atendido de {0} dura {1}, y {2} tanto tiempo sin una pausa"
    ),
    "the longest stretch is {0}: split the step, or lengthen a shift": (
        "el tramo más largo es de {0}: dividir el paso, o alargar un turno"
    ),
    "a clean-down of {0} fits into no shift": "una limpieza de {0} no cabe en ningún turno",
    "nobody with the skill {0} works longer than {1} without a break": (
        "nadie que sepa {0} trabaja más de {1} sin una pausa"
    ),
    "a day-end clean of {0} fits into no shift": "una limpieza de fin de día de {0} no cabe en ningún turno",
    "give throughout alone, or start and end once each": "poner solo throughout, o start y end una vez cada uno",
    " on its fastest machine": " en su máquina más rápida",
    " min on its fastest machine": " min en su máquina más rápida",  # the unit stands at the joint of two values
    "shorten the portions, or write `when: throughout`": "acortar las partes, o escribir `when: throughout`",
    "teach another the skill, or lower `hands`": "enseñárselo a otra persona, o bajar `hands`",
    "no {0} people with the skill {1} work together": "no hay {0} personas que sepan {1} y trabajen a la vez",
    "{0} has two shifts at once on {1}, {2}": "{0} tiene dos turnos a la vez el {1}, {2}",
    "let one shift end before the next begins": "terminar un turno antes de que empiece el siguiente",
    "the shift from {0} to {1} lasts {2} h": "el turno de {0} a {1} dura {2} h",
    "swap the two times, or split it": "cambiar las dos horas entre sí, o dividirlo",
    "the break {0} lies outside the shift": "la pausa {0} queda fuera del turno",
    "keep it between {0} and {1}": "ponerla entre {0} y {1}",
    "the break {0} begins before the one above ends": "la pausa {0} empieza antes de que termine la de arriba",
    "write them in order, apart": "escribirlas en orden, separadas",
    # -- machines
    "there is no equipment of the kind {0}": "no hay ningún equipo del tipo {0}",
    "there is no equipment {0}": "no existe el equipo {0}",
    "{0} is no store": "{0} no es una cámara",
    "a kind of equipment with `store: true`": "un tipo de equipo con `store: true`",
    "{0} is not kept below 0 °C, so that no rise of its air is a defrost": (
        "{0} no se mantiene por debajo de 0 °C, así que ninguna subida de su aire es un desescarche"
    ),
    "leave defrosts out, or write what it holds, such as `holds: { high: -18 °C }`": (
        "quitar defrosts, o escribir a qué se mantiene, como `holds: { high: -18 °C }`"
    ),
    "{0} min of every {1} min would leave {2} warm for much of the time": (
        "{0} min de cada {1} min dejarían {2} caliente buena parte del tiempo"
    ),
    "make it a quarter of every at most": "dejarlo en un cuarto de every como mucho",
    "{0} takes one batch at a time, so that none crowds another": (
        "{0} lleva un lote cada vez, así que ninguno estorba a otro"
    ),
    "leave heat out, or give it a capacity and `shared: true`": "quitar heat, o darle una capacidad y `shared: true`",
    "{0} is cleaned between runs: batches that crowd each other are not planned there": (
        "{0} se limpia entre pasadas: allí no se prevén lotes que se estorben"
    ),
    "leave heat out, or cleaning": "quitar heat, o cleaning",
    "alone is {0}, and the capacity of {1} is {2}": "alone es {0}, y la capacidad de {1} es {2}",
    "alone is {0}, and {1} holds {2}": "alone es {0}, y en {1} caben {2}",
    "make it more than nothing and less than the capacity, or leave heat out": (
        "ponerlo por encima de nada y por debajo de la capacidad, o quitar heat"
    ),
    "a hygiene clean takes no less than a rinse and no more than a full clean": (
        "una limpieza de higiene no dura menos que un enjuague ni más que una limpieza completa"
    ),
    "a pre-cool must keep at least as long as it takes": "un preenfriado debe durar al menos lo que tarda",
    "maintenance must end after it starts": "el mantenimiento debe terminar después de empezar",
    # -- names and codes
    "use lower-case letters, digits and hyphens, like hob-1": "usar minúsculas, cifras y guiones, como hob-1",
    "use lower-case letters, digits and hyphens, like custard-base": (
        "usar minúsculas, cifras y guiones, como custard-base"
    ),
    "use capitals, digits and hyphens, like SAT-STALL": "usar mayúsculas, cifras y guiones, como SAT-STALL",
    "use one or two capitals, like B": "usar una o dos mayúsculas, como B",
    "write its three capitals of ISO 4217, like EUR": "escribir sus tres mayúsculas de ISO 4217, como EUR",
    "the code {0} is taken, in {1}": "el código {0} ya se usa, en {1}",
    "the order {0} reads like a lot of {1}": "el pedido {0} se lee como un lote de {1}",
    "the {0} {1} is taken, on line {2}": "{0} {1} ya está, en la línea {2}",
    "give each one a name of its own": "dar a cada uno un nombre propio",
    "{0} cannot be the id": "{0} no puede ser el id",
    "{0} stands on two lines of this order": "{0} está en dos líneas de este pedido",
    "the id {0} is taken, in {1}": "el id {0} ya se usa, en {1}",
    "give each recipe an id of its own": "dar a cada receta un id propio",
    "give each recipe a code of its own: lot codes begin with it": (
        "dar a cada receta un código propio: los códigos de lote empiezan por él"
    ),
    "two steps have the id {0}": "dos pasos tienen el id {0}",
    "choose a name that is no code with a number": "elegir un nombre que no sea un código con un número",
    "{0} is no lot code of {1}": "{0} no es un código de lote de {1}",
    "write its code and a number, like {0}1": "escribir su código y un número, como {0}1",
    "add them up on one line": "sumarlas en una línea",
    "the id {0} is not the name of its file": "el id {0} no es el nombre de su archivo",
    "rename the file to {0}.yaml": "llamar al archivo {0!}.yaml",
    "give each step of a recipe an id of its own": "dar a cada paso de una receta un id propio",
    "the probe would be called silent before its next reading is expected": (
        "la sonda se daría por perdida antes de que toque su próxima lectura"
    ),
    "there is no station {0}": "no existe el puesto {0}",
    "nobody has the skill {0}": "nadie sabe {0}",
    "make silent_after no less than interval": "no poner silent_after por debajo de interval",
    "there is no probe {0}": "no existe la sonda {0}",
    "there is no recipe {0} to make this component": "no existe la receta {0} para hacer esta elaboración",
    "{0} is a product, not a component": "{0} es un producto, no una elaboración",
    "{0} is a component, not a product": "{0} es una elaboración, no un producto",
    "there is no recipe {0}": "no existe la receta {0}",
    # -- orders and stock
    "due {0}, before planning starts at {1}": "para {0}, antes de que empiece el plan a las {1}",
    "{0} takes at least {1} to make, longer than there is until due": (
        "hacer {0} lleva al menos {1}, más de lo que queda hasta la entrega"
    ),
    "made {0}, after planning starts at {1}": "hecho {0}, después de que empiece el plan a las {1}",
    "earliest lies after due": "earliest queda después de due",
    "make earliest no later than due": "no poner earliest después de due",
    "a shift is on one `day`, or on days of `every` week": "un turno es de un solo `day`, o de días de `every` semana",
    "write one of the two": "escribir una de las dos cosas",
    "move due, or planning_start in kitchen.yaml": "mover due, o planning_start en kitchen.yaml",
    "due {0}, after the last planned minute, {1}": "para {0}, después del último minuto previsto, {1}",
    "the soonest is {0}: move due, or plan from an earlier start": (
        "lo más pronto es {0}: mover due, o empezar antes el plan"
    ),
    "the lot must be used before it was made": "el lote caduca antes de haberse hecho",
    "make use_by later than made": "poner use_by después de made",
    "what is not made yet is no stock: take it out, or correct the time": (
        "lo que aún no está hecho no es existencia: quitarlo, o corregir la hora"
    ),
    "to be used by {0}, before planning starts at {1}": "caduca {0}, antes de que empiece el plan a las {1}",
    "take the order out for now, or raise horizon_days in kitchen.yaml": (
        "quitar el pedido por ahora, o subir horizon_days en kitchen.yaml"
    ),
    "take the lot out of the stock: it may not be planned with": (
        "quitar el lote de las existencias: no se puede contar con él"
    ),
    "order lines": "líneas de pedido",
    "lots on hand": "lotes en existencias",
    "people to call": "personas a las que avisar",
    "{0} is not made of digits": "{0} no está hecho de cifras",
    # -- labels
    "a brace is not closed in {0}": "falta cerrar una llave en {0}",
    "write placeholders like {0}": "escribir los huecos como {0!}",
    "unknown placeholder {0}": "hueco desconocido {0}",
    "labels overlap": "las etiquetas se solapan",
    "across_mm and down_mm are at least width_mm and height_mm": (
        "across_mm y down_mm son al menos width_mm y height_mm"
    ),
    "the labels end at {0} by {1} mm, outside the page of {2} by {3} mm": (
        "las etiquetas acaban en {0} por {1} mm, fuera de la hoja de {2} por {3} mm"
    ),
    "{0} is not text": "{0} no es texto",
    "write a GTIN in quotation marks, or leading zeros are lost": (
        "escribir el GTIN entre comillas; si no, se pierden los ceros iniciales"
    ),
    "{0} is no GTIN": "{0} no es un GTIN",
    "it has 8, 12, 13 or 14 digits, the last of them a check digit": (
        "tiene 8, 12, 13 o 14 cifras, la última de control"
    ),
    # -- changes tried at the planning table
    "'change' is missing": "falta 'change'",
    "{0} is no change": "{0} no es un cambio",
}
