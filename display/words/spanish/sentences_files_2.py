"""Spanish: faults of a kitchen's recipes, ingredients and limits, by the English pattern."""

from collections.abc import Mapping
from typing import Final

SENTENCES: Final[Mapping[str, str]] = {
    # -- allergens
    "tree nut": "frutos de cáscara",
    "crustacean shellfish": "crustáceos",
    "the allergen {0} looks like {1}, in {2}": "el alérgeno {0} se parece a {1}, en {2}",
    "there is no list of allergens {0}": "no existe la lista de alérgenos {0}",
    "write one allergen in one way: clean-downs compare the words": (
        "escribir cada alérgeno de una sola manera: las limpiezas comparan las palabras"
    ),
    "the allergen {0} looks like {1}, which is on a list": "el alérgeno {0} se parece a {1}, que está en una lista",
    "write {0}": "escribir {0}",
    "the allergen {0} does not say which: a law whose list is printed asks for the kind": (
        "el alérgeno {0} no dice cuál: una ley cuya lista se imprime pide el tipo"
    ),
    "the allergen {0} is not in lower case": "el alérgeno {0} no está en minúsculas",
    "write what it is, such as {0}": "escribir cuál es, como {0}",
    # -- by-products
    "{0} is said to be a part of {1}, which this step does not take": (
        "{0} figura como parte de {1}, que este paso no usa"
    ),
    "{0} {1} of {2} is more than {3}, {4} kg": "{0} {1} de {2} es más que {3}, {4} kg",
    "{0} is left in {1}, and in {2} in {3}": "{0} se deja en {1}, y en {2} en {3}",
    "the room is in {0}, {1} is counted in {2}": "el sitio está en {0}, {1} se cuenta en {2}",
    "{0} is done for each order, and leaves something": "{0} se hace para cada pedido, y deja algo",
    "let a step of the batch leave it": "que lo deje un paso del lote",
    "the amount is nothing": "la cantidad es cero",
    "write more than 0, or take the line out": "escribir más de 0, o quitar la línea",
    "the room is nothing": "el sitio es cero",
    "write more than 0, or leave it out": "escribir más de 0, o no ponerlo",
    "all that went in": "todo lo que entró",
    "a step leaves no more than it takes in: correct one of the two": (
        "un paso no deja más de lo que entra: corregir uno de los dos"
    ),
    "write it in {0}, or it cannot be counted on": "escribirlo en {0}; si no, no se puede contar con ello",
    "write it in {0}": "escribirlo en {0}",
    "the stay {0} leaves something": "el reposo {0} deja algo",
    "let the step of work before or after it leave it": "que lo deje el paso de trabajo de antes o de después",
    "{0} goes round in a circle: {1}": "{0} da vueltas en círculo: {1}",
    "leave it under another name, or take one of the two out": "dejarlo con otro nombre, o quitar uno de los dos",
    # -- circles
    "steps wait for each other in a circle: {0}": "los pasos se esperan en círculo: {0}",
    "let each step come after earlier ones only": "poner cada paso solo después de otros anteriores",
    "recipes go round in a circle: {0}": "las recetas dan vueltas en círculo: {0}",
    "take one of these components out": "quitar una de estas elaboraciones",
    # -- ingredients
    "there is no ingredient {0}": "no existe el ingrediente {0}",
    "{0} is a name of {1} already": "{0} ya es un nombre de {1}",
    "take it out of one of the two: a recipe's line must mean one row": (
        "quitarlo de uno de los dos: una línea de receta debe referirse a una sola fila"
    ),
    "{0} holds {1} by the ingredient table, and the line does not say so": (
        "{0} contiene {1} según la tabla de ingredientes, y la línea no lo dice"
    ),
    "add `allergens: [{0}]`, or a row of your own to it": "añadir `allergens: [{0}]`, o una fila propia a la tabla",
    "the row adds up to {0} g of 100 g": "la fila suma {0} g de 100 g",
    "correct a figure, or put what is missing under other_solids": (
        "corregir una cifra, o poner lo que falta en other_solids"
    ),
    "correct one of them": "corregir uno de ellos",
    "a density of {0} g/mL is none": "una densidad de {0} g/ml no puede ser",
    "enter more than 0": "escribir más de 0",
    "{0} is no unit of weight or volume": "{0} no es una unidad de peso ni de volumen",
    "write one of {0}": "escribir una de {0}",
    # -- limits
    "it keeps for longer than its date mark allows: {0} days, the day it is made being day 1": (
        "dura más de lo que permite su marcado de fecha: {0} días, contando como día 1 el de elaboración"
    ),
    "{0} is of the kind {1}, not {2}": "{0} es del tipo {1}, no {2}",
    "{0} differs from what is shipped and does not say by which local code": (
        "{0} se aparta de lo que viene con el programa y no dice por qué norma local"
    ),
    "{0} cannot be judged on the step {1}, which is to {2}": "{0} no se puede juzgar en el paso {1}, que es para {2}",
    "{0} is not for food with {1}: {2}": "{0} no vale para alimentos con {1}: {2}",
    "the ceiling, {0} °C, lies below the limit, {1} °C": "el tope, {0} °C, queda por debajo del límite, {1} °C",
    "{0} has {1} rows, and nothing says which of them is aimed at": (
        "{0} tiene {1} filas, y nada dice a cuál se apunta"
    ),
    "write {0} d or less, freeze it, or name the local code that allows more": (
        "escribir {0} d o menos, congelarlo, o nombrar la norma local que permite más"
    ),
    "{0} cannot be a limit: {1}": "{0} no puede ser un límite: {1}",
    "keep the kind, or give the limit an id of its own": "mantener el tipo, o dar al límite un id propio",
    "add `local_code: ...`, naming the code and edition, or who decided": (
        "añadir `local_code: ...` con la norma y su edición, o quién lo decidió"
    ),
    "{0} has no row {1}": "{0} no tiene la fila {1}",
    "a ceiling has no place on {0}, which cools": "un tope no tiene sentido en {0}, que enfría",
    "take it out": "quitarlo",
    "raise the ceiling, or choose a milder row": "subir el tope, o elegir una fila más suave",
    "write { id: {0}, row: {1} }, or give the step a target": (
        "escribir { id: {0}, row: {1} }, o dar un objetivo al paso"
    ),
    "the target is milder than {0}": "el objetivo es más suave que {0}",
    "{0} cannot be chosen: {1}": "{0} no se puede elegir: {1}",
    "take the limit out": "quitar el límite",
    "aim at {0}, or take the target out": "apuntar a {0}, o quitar el objetivo",
    "there is no limit {0}": "no existe el límite {0}",
    "take {0}": "usar {0}",
    "ask your local authority which limit is yours": "preguntar a la autoridad local qué límite corresponde",
    "{0} lacks one of the two units": "a {0} le falta una de las dos unidades",
    "write both as printed, like '80 °C (175 °F)'": "escribir ambas como están impresas, como '80 °C (175 °F)'",
    "the two temperatures are not the same": "las dos temperaturas no son la misma",
    "write both as printed, like 80 °C (175 °F)": "escribir ambas como están impresas, como 80 °C (175 °F)",
    "row {0} asks for no single temperature": "la fila {0} no pide una sola temperatura",
    "there is no row": "no hay ninguna fila",
    "write what is asked under `rows:`": "escribir lo que se pide en `rows:`",
    "two rows have one id": "dos filas tienen el mismo id",
    "give each row an id of its own": "dar a cada fila un id propio",
    "the kind {0} has one row": "el tipo {0} tiene una fila",
    "keep one": "dejar una",
    "air never shows what the food has reached": "el aire nunca muestra a qué ha llegado el alimento",
    "take `air` out, or make it `kind: keep`": "quitar `air`, o ponerlo como `kind: keep`",
    "row {0} does not fit the kind {1}": "la fila {0} no encaja con el tipo {1}",
    "a row of it says {0}": "una fila de ese tipo dice {0}",
    "{0} is no limit of days": "{0} no es un límite de días",
    "{0} is no limit of time since something was done": "{0} no es un límite de tiempo desde que se hizo algo",
    # -- why a shipped limit cannot be chosen (`config/limits.yaml`)
    "the 1995 regulations of the United Kingdom (SI 1995/1372) are revoked": (
        "las normas del Reino Unido de 1995 (SI 1995/1372) están derogadas"
    ),
    "the 21-point table to 90 °C for 10 min is for chilled foods and spore formers, not for this food": (
        "la tabla de 21 puntos hasta 90 °C durante 10 min es para refrigerados y esporas, no para este alimento"
    ),
    "Milk products without egg that are not frozen-dessert mix, such as a sweetened cream to be poured.": (
        "Productos lácteos sin huevo que no son mezcla de postre helado, como una nata azucarada para verter."
    ),
    # -- rescue cards
    "a card says no temperature": "una ficha no dice ninguna temperatura",
    "name the limit under `limits:`, its figures are shown": ("nombrar el límite en `limits:`; se muestran sus cifras"),
    "it is about temperature and names no limit": "trata de temperatura y no nombra ningún límite",
    "write under `limits:` to which it defers": "escribir en `limits:` a cuál se remite",
    # -- steps
    "{0} has neither a station nor equipment": "{0} no tiene ni puesto ni equipo",
    "{0} has a load but no equipment": "{0} tiene una carga pero ningún equipo",
    "the stay {0} begins as one step ends, without a gap": "el reposo {0} empieza al terminar un paso, sin hueco",
    "{0} is done per order, but nobody orders a component": "{0} se hace por pedido, pero nadie pide una elaboración",
    "add `station: ...` or `equipment: ...`: where does a cook stand?": (
        "añadir `station: ...` o `equipment: ...`: ¿dónde está quien cocina?"
    ),
    "add `equipment: ...`, or take the load out": "añadir `equipment: ...`, o quitar la carga",
    "the stay {0} ends as {1} begins, without a gap": "el reposo {0} termina al empezar {1}, sin hueco",
    "{0} is done per batch but comes after {1}, which is done per order": (
        "{0} se hace por lote pero va después de {1}, que se hace por pedido"
    ),
    "{0} is done per order and names {1}, which is done per batch": (
        "{0} se hace por pedido y nombra {1}, que se hace por lote"
    ),
    "take the link out: the first step per order follows the whole batch": (
        "quitar el enlace: el primer paso por pedido sigue al lote entero"
    ),
    "the stay {0} is done per order": "el reposo {0} se hace por pedido",
    "let it belong to the batch: take `per` out": "que pertenezca al lote: quitar `per`",
    "the stay {0} takes something in": "al reposo {0} le entra algo",
    "let a step of work take it": "que lo use un paso de trabajo",
    "name that one step, without least and most": "nombrar solo ese paso, sin least ni most",
    "the stay {0} has nothing before it": "el reposo {0} no tiene nada antes",
    "let it follow the step that fills it": "ponerlo después del paso que lo llena",
    "the stay {0} follows another stay, {1}": "el reposo {0} sigue a otro reposo, {1}",
    "{0} is done per batch but stands after {1}, which is done per order": (
        "{0} se hace por lote pero está después de {1}, que se hace por pedido"
    ),
    "take `per` out, or make this recipe a product": "quitar `per`, o hacer un producto de esta receta",
    "no step is done per batch": "ningún paso se hace por lote",
    "describe how a batch is made first": "describir primero cómo se hace un lote",
    "{0} is done per order and takes the component {1}": "{0} se hace por pedido y usa la elaboración {1}",
    "there is no step {0} in this recipe": "no existe el paso {0} en esta receta",
    "{0} is named twice": "{0} se nombra dos veces",
    "keep one link to each step": "dejar un enlace a cada paso",
    "give least and most to the stay itself": "dar least y most al reposo mismo",
    "let it come after a step that is done per batch": "ponerlo después de un paso que se haga por lote",
    "put the step that moves the food between them": "poner entre los dos el paso que traslada el alimento",
    "move it above the steps done per order": "ponerlo por encima de los pasos por pedido",
    "let a step of the batch take it": "que lo use un paso del lote",
    "shortest, usual and longest are not in order": "shortest, usual y longest no están en orden",
    "write the shortest first and the longest last": "escribir primero lo más corto y al final lo más largo",
    "shortest, usual and longest must not decrease in this order": (
        "shortest, usual y longest no pueden bajar en este orden"
    ),
    "the minutes do not fit the portion": "los minutos no encajan con la parte",
    "give minutes with start and end, and none with throughout": (
        "poner minutos con start y end, y ninguno con throughout"
    ),
    "give minutes with 'start' and 'end', and none with 'throughout'": (
        "poner minutos con «start» y «end», y ninguno con «throughout»"
    ),
    "a line takes one thing": "una línea lleva una sola cosa",
    "name either an ingredient or a component": "nombrar un ingrediente o una elaboración, solo uno",
    "a limit has one side": "un límite tiene un solo lado",
    "give either at_most or at_least": "poner at_most o at_least, uno de los dos",
    "it is not clear how long the step lasts": "no está claro cuánto dura el paso",
    "give exactly one of duration, cycle and stay": "poner exactamente uno de duration, cycle y stay",
    "a stay needs no hands": "un reposo no necesita manos",
    "a stay needs no hands: give the attended work to the step before or after": (
        "un reposo no necesita manos: dar el trabajo atendido al paso de antes o de después"
    ),
    "give the attended work to the step before or after": "dar el trabajo atendido al paso de antes o de después",
    "attended work needs a skill": "el trabajo atendido necesita una habilidad",
    "add `skill: ...`": "añadir `skill: ...`",
    "reckon takes one figure": "reckon lleva una cifra",
    "write tub_mm to harden, drives_off_kg_per_h to reduce": (
        "escribir tub_mm para endurecer, drives_off_kg_per_h para reducir"
    ),
    "reduce_to is for work that loses water ({0}), with a duration": (
        "reduce_to es para trabajo que pierde agua ({0}), con una duración"
    ),
    "reckon is for hardening with tub_mm, or a step with reduce_to, with a duration": (
        "reckon es para endurecer con tub_mm, o un paso con reduce_to, con una duración"
    ),
    # -- temperatures
    "the ceiling, {0} °C, lies below the target, {1} °C": "el tope, {0} °C, queda por debajo del objetivo, {1} °C",
    "the target is held for {0}, longer than {1} ever lasts": (
        "el objetivo se mantiene {0}, más de lo que llega a durar {1}"
    ),
    "the target, {0} °C, is never reached: at {1} m water boils at ": (
        "el objetivo, {0} °C, no se alcanza nunca: a {1} m el agua hierve a "
    ),
    "the target, {0} °C, is never reached: at {1} m water boils at {2} °C, and sugar adds a few degrees": (
        "el objetivo, {0} °C, no se alcanza nunca: a {1} m el agua hierve a {2} °C, y el azúcar suma unos grados"
    ),
    "{0} °C, and sugar adds a few degrees": "{0} °C, y el azúcar suma unos grados",
    "ask for {0} °C at most, or put altitude_m right in kitchen.yaml": (
        "pedir {0} °C como mucho, o corregir altitude_m en kitchen.yaml"
    ),
    "raise the ceiling, or lower at_least": "subir el tope, o bajar at_least",
    "hold it for {0} at most, or lengthen the step": "mantenerlo {0} como mucho, o alargar el paso",
    "a gate asks for the temperature of equipment, but {0} uses none": (
        "una condición pide la temperatura de un equipo, pero {0} no usa ninguno"
    ),
    "add `equipment: ...` to the step, or write `of: before`": (
        "añadir `equipment: ...` al paso, o escribir `of: before`"
    ),
    # -- units
    "{0} cannot be compared with {1}, in {2}": "{0} no se puede comparar con {1}, en {2}",
    "the least of a batch, {0}, is more than its most, {1}": "el mínimo de un lote, {0}, es más que su máximo, {1}",
    "{0} says nothing of how much of the {1} it takes": "{0} no dice cuánto ocupa en {1}",
    "trays of pieces need a recipe that yields pieces, not {0}": (
        "las bandejas de piezas necesitan una receta que rinda piezas, no {0}"
    ),
    "a count needs a recipe that yields pieces, not {0}": "un recuento necesita una receta que rinda piezas, no {0}",
    "{0} is counted in {1} here and in {2} for {3}": "{0} se cuenta en {1} aquí y en {2} para {3}",
    "the yield is nothing": "el rendimiento es cero",
    "write more than 0": "escribir más de 0",
    "swap the two, or correct one": "cambiar los dos entre sí, o corregir uno",
    "add `load: ... {0}`": "añadir `load: ... {0}`",
    "write the yield in each, or give a duration": "escribir el rendimiento en each, o poner una duración",
    "write weight_kg or volume_l": "escribir weight_kg o volume_l",
    "the capacity is nothing": "la capacidad es cero",
    "the least, {0}, is more than the capacity, {1}": "el mínimo, {0}, es más que la capacidad, {1}",
    "count all machines of a kind in one unit": "contar todas las máquinas de un tipo en una unidad",
    "low, {0} °C, is not below high, {1} °C": "low, {0} °C, no queda por debajo de high, {1} °C",
    "swap the two": "cambiar los dos entre sí",
    "there is a least but no capacity": "hay un mínimo pero ninguna capacidad",
    "add `capacity: ...`": "añadir `capacity: ...`",
    "shared needs a capacity that can be filled": "shared necesita una capacidad que se pueda llenar",
    "the {0} of a batch is nothing": "{0} de un lote es cero",
    "the load is nothing": "la carga es cero",
    "the yield": "el rendimiento",
    "the quantity is nothing": "la cantidad es cero",
    "write more than 0, or take the lot out": "escribir más de 0, o quitar el lote",
    "the capacity": "la capacidad",
    "the capacity of the {0}": "la capacidad de {0}",
    "the yield of {0}": "el rendimiento de {0}",
    # -- windows
    "the stay {0} lasts at least {1} and at most {2}": "el reposo {0} dura al menos {1} y como mucho {2}",
    "the stay {0} lasts at least {1}, longer than the shelf life": (
        "el reposo {0} dura al menos {1}, más que la vida útil"
    ),
    "the window of {0} after {1} opens after {2} ": "la ventana de {0} tras {1} abre a los {2} ",
    "the window of {0} after {1} opens after {2} and closes after {3}": (
        "la ventana de {0} tras {1} abre a los {2} y cierra a los {3}"
    ),
    "and closes after {0}": "y cierra a los {0}",
    "make least no more than most": "no poner least por encima de most",
    "make least no more than {0}": "no poner least por encima de {0}",
    "{0} must follow {1} within {2}, ": "{0} debe seguir a {1} en {2}, ",
    "{0} must follow {1} within {2}, but {3} takes at least {4}": (
        "{0} debe seguir a {1} en {2}, pero {3} lleva al menos {4}"
    ),
    "but {0} takes at least {1}": "pero {0} lleva al menos {1}",
    "allow at least {0}, or take a step out between them": "dejar al menos {0}, o quitar un paso entre los dos",
}
